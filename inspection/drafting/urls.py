"""Addresses of the clauses of a draft."""

from django.urls import path

from inspection.drafting import views

_CLAUSES = "<slug:club>/revisions/<str:public_id>/clauses"

urlpatterns = [
    path(f"{_CLAUSES}/create/", views.create, name="clause-create"),
    path(f"{_CLAUSES}/echo/", views.echo, name="clause-echo"),
    path(f"{_CLAUSES}/<uuid:lasting_id>/edit/", views.edit, name="clause-edit"),
    path(f"{_CLAUSES}/<uuid:lasting_id>/delete/", views.delete, name="clause-delete"),
    path(f"{_CLAUSES}/<uuid:lasting_id>/strike/", views.strike, name="clause-strike"),
    path(f"{_CLAUSES}/<uuid:lasting_id>/move/", views.move, name="clause-move"),
]
