"""Addresses of cars."""

from django.urls import path

from inspection.cars import views

_CARS = "<slug:club>/cars"

urlpatterns = [
    path(f"{_CARS}/", views.car_list, name="car-list"),
    path(f"{_CARS}/create/", views.car_create, name="car-create"),
    path(f"{_CARS}/<str:public_id>/", views.car_detail, name="car-detail"),
    path(f"{_CARS}/<str:public_id>/edit/", views.car_edit, name="car-edit"),
]
