"""Addresses of the register of characteristics."""

from django.urls import path

from inspection.register import views

_CHARACTERISTICS = "<slug:club>/characteristics"

urlpatterns = [
    path(f"{_CHARACTERISTICS}/", views.characteristic_list, name="characteristic-list"),
    path(f"{_CHARACTERISTICS}/create/", views.characteristic_create, name="characteristic-create"),
    path(f"{_CHARACTERISTICS}/install/", views.register_install, name="characteristic-install"),
    path(f"{_CHARACTERISTICS}/<str:public_id>/edit/", views.characteristic_edit, name="characteristic-edit"),
]
