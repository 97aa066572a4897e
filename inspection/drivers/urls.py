"""Addresses of drivers."""

from django.urls import path

from inspection.drivers import views

_DRIVERS = "<slug:club>/drivers"

urlpatterns = [
    path(f"{_DRIVERS}/", views.driver_list, name="driver-list"),
    path(f"{_DRIVERS}/create/", views.driver_create, name="driver-create"),
    path(f"{_DRIVERS}/<str:public_id>/", views.driver_detail, name="driver-detail"),
    path(f"{_DRIVERS}/<str:public_id>/edit/", views.driver_edit, name="driver-edit"),
    path(f"{_DRIVERS}/<str:public_id>/spelling/", views.spelling_accept, name="spelling-accept"),
    path(f"{_DRIVERS}/<str:public_id>/spelling/drop/", views.spelling_drop, name="spelling-drop"),
    path(f"{_DRIVERS}/<str:public_id>/link/", views.driver_link, name="driver-link"),
]
