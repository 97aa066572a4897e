"""Addresses of gauges."""

from django.urls import path

from inspection.gauges import views

_GAUGES = "<slug:club>/gauges"

urlpatterns = [
    path(f"{_GAUGES}/", views.gauge_list, name="gauge-list"),
    path(f"{_GAUGES}/create/", views.gauge_create, name="gauge-create"),
    path(f"{_GAUGES}/<str:public_id>/edit/", views.gauge_edit, name="gauge-edit"),
    path(f"{_GAUGES}/<str:public_id>/retire/", views.gauge_retire, name="gauge-retire"),
]
