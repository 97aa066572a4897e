"""Addresses of rule sheets and their revisions."""

from django.urls import path

from inspection.rulesheets import views

_SHEETS = "<slug:club>/rule-sheets"
_REVISION = "<slug:club>/revisions/<str:public_id>"

urlpatterns = [
    path(f"{_SHEETS}/", views.rulesheet_list, name="rulesheet-list"),
    path(f"{_SHEETS}/create/", views.rulesheet_create, name="rulesheet-create"),
    path(f"{_SHEETS}/<str:public_id>/", views.rulesheet_detail, name="rulesheet-detail"),
    path(f"{_SHEETS}/<str:public_id>/export/", views.rulesheet_export, name="rulesheet-export"),
    path(f"{_SHEETS}/<str:public_id>/draft/", views.draft_start, name="rulesheet-draft"),
    path(f"{_REVISION}/", views.revision_detail, name="revision-detail"),
    path(f"{_REVISION}/edit/", views.revision_edit, name="revision-edit"),
    path(f"{_REVISION}/publish/", views.revision_publish, name="revision-publish"),
    path(f"{_REVISION}/discard/", views.draft_discard, name="revision-discard"),
    path(f"{_REVISION}/print/", views.revision_print, name="revision-print"),
    path(f"{_REVISION}/rulings/<uuid:lasting_id>/create/", views.ruling_create, name="ruling-create"),
]
