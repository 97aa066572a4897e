"""Addresses of runs."""

from django.urls import path

from inspection.runs import views

_CAR = "<slug:club>/cars/<str:public_id>/runs"

urlpatterns = [
    path(f"{_CAR}/", views.run_list, name="run-list"),
    path(f"{_CAR}/create/", views.run_create, name="run-create"),
    path(f"{_CAR}/compare/", views.run_compare, name="run-compare"),
    path("<slug:club>/runs/<str:public_id>/", views.run_detail, name="run-detail"),
    path("<slug:club>/runs/<str:public_id>/edit/", views.run_edit, name="run-edit"),
]
