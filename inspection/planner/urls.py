"""Addresses of the planner."""

from django.urls import path

from inspection.planner import views

_SHEET = "<slug:club>/bench/sheets/<str:public_id>"

urlpatterns = [
    path(f"{_SHEET}/plan/", views.planner, name="planner"),
    path(f"{_SHEET}/plan/print/", views.planner_print, name="planner-print"),
    path(f"{_SHEET}/plan/take/", views.planner_take, name="planner-take"),
]
