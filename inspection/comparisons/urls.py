"""Addresses of comparisons between the revisions of a sheet."""

from django.urls import path

from inspection.comparisons import views

_REVISION = "<slug:club>/revisions/<str:public_id>"

urlpatterns = [
    path(f"{_REVISION}/compare/", views.revision_compare, name="revision-compare"),
    path(f"{_REVISION}/compare/print/", views.comparison_print, name="comparison-print"),
]
