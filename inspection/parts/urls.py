"""Addresses of parts."""

from django.urls import path

from inspection.parts import views

_PARTS = "<slug:club>/bench/parts"

urlpatterns = [
    path(f"{_PARTS}/", views.part_list, name="part-list"),
    path(f"{_PARTS}/create/", views.part_create, name="part-create"),
    path(f"{_PARTS}/echo/", views.part_echo, name="part-echo"),
    path(f"{_PARTS}/<str:public_id>/", views.part_detail, name="part-detail"),
    path(f"{_PARTS}/<str:public_id>/edit/", views.part_edit, name="part-edit"),
    path(f"{_PARTS}/<str:public_id>/stock/", views.part_stock, name="part-stock"),
]
