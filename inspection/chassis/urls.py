"""Addresses of chassis."""

from django.urls import path

from inspection.chassis import views

_CHASSIS = "<slug:club>/bench/chassis"

urlpatterns = [
    path(f"{_CHASSIS}/", views.chassis_list, name="chassis-list"),
    path(f"{_CHASSIS}/create/", views.chassis_create, name="chassis-create"),
    path(f"{_CHASSIS}/echo/", views.chassis_echo, name="chassis-echo"),
    path(f"{_CHASSIS}/<str:public_id>/", views.chassis_detail, name="chassis-detail"),
    path(f"{_CHASSIS}/<str:public_id>/edit/", views.chassis_edit, name="chassis-edit"),
]
