"""Addresses of single motors."""

from django.urls import path

from inspection.motors import views

_MOTORS = "<slug:club>/bench/motors"

urlpatterns = [
    path(f"{_MOTORS}/", views.motor_list, name="motor-list"),
    path(f"{_MOTORS}/create/", views.motor_create, name="motor-create"),
    path(f"{_MOTORS}/<str:public_id>/", views.motor_detail, name="motor-detail"),
    path(f"{_MOTORS}/<str:public_id>/edit/", views.motor_edit, name="motor-edit"),
    path(f"{_MOTORS}/<str:public_id>/test/", views.motor_test_create, name="motor-test-create"),
]
