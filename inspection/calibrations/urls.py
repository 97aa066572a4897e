"""Addresses of what is known of a gauge in use."""

from django.urls import path

from inspection.calibrations import views

_GAUGES = "<slug:club>/gauges"

urlpatterns = [
    path(f"{_GAUGES}/print/", views.gauge_print, name="gauge-print"),
    path(f"{_GAUGES}/labels/print/", views.gauge_label_print, name="gauge-label-print"),
    path(f"{_GAUGES}/<str:public_id>/", views.gauge_detail, name="gauge-detail"),
]
