"""Addresses of gauges and characteristics."""

from django.urls import path

from inspection.gauges import views

_GAUGES, _CHARACTERISTICS = "<slug:club>/gauges", "<slug:club>/characteristics"

urlpatterns = [
    path(f"{_GAUGES}/", views.gauge_list, name="gauge-list"),
    path(f"{_GAUGES}/create/", views.gauge_create, name="gauge-create"),
    path(f"{_GAUGES}/<str:public_id>/edit/", views.gauge_edit, name="gauge-edit"),
    path(f"{_GAUGES}/<str:public_id>/retire/", views.gauge_retire, name="gauge-retire"),
    path(f"{_CHARACTERISTICS}/", views.characteristic_list, name="characteristic-list"),
    path(f"{_CHARACTERISTICS}/create/", views.characteristic_create, name="characteristic-create"),
    path(f"{_CHARACTERISTICS}/install/", views.register_install, name="characteristic-install"),
    path(f"{_CHARACTERISTICS}/<str:public_id>/edit/", views.characteristic_edit, name="characteristic-edit"),
]
