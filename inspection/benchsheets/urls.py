"""Addresses of the bench and its sheets."""

from django.urls import path

from inspection.benchsheets import views

_SHEETS = "<slug:club>/bench/sheets/<str:public_id>"
_CAR = "<slug:club>/bench/cars/<str:public_id>"

urlpatterns = [
    path("<slug:club>/bench/", views.bench, name="bench"),
    path(f"{_CAR}/create/", views.sheet_create, name="bench-sheet-create"),
    path(f"{_CAR}/echo/", views.sheet_echo, name="bench-sheet-echo"),
    path(f"{_SHEETS}/", views.sheet_detail, name="bench-sheet-detail"),
    path(f"{_SHEETS}/compare/", views.sheet_compare, name="bench-sheet-compare"),
    path(f"{_SHEETS}/cure/", views.sheet_cure, name="bench-sheet-cure"),
    path(f"{_SHEETS}/declare/", views.sheet_declare, name="bench-sheet-declare"),
]
