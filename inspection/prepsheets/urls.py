"""Addresses of prep sheets and their templates."""

from django.urls import path

from inspection.prepsheets import views

_PREP = "<slug:club>/prep"

urlpatterns = [
    path(f"{_PREP}/", views.template_list, name="prep-template-list"),
    path(f"{_PREP}/create/", views.template_create, name="prep-template-create"),
    path(f"{_PREP}/<str:public_id>/edit/", views.template_edit, name="prep-template-edit"),
    path("<slug:club>/bench/sheets/<str:public_id>/prep/", views.prep_sheet, name="prep-sheet"),
    path("<slug:club>/bench/sheets/<str:public_id>/prep/print/", views.prep_print, name="prep-print"),
]
