"""Addresses of gauge studies."""

from django.urls import path

from inspection.studies import views

_STUDY = "<slug:club>/studies/<str:public_id>"

urlpatterns = [
    path("<slug:club>/gauges/<str:public_id>/study/", views.study_create, name="study-create"),
    path(f"{_STUDY}/measure/", views.study_measure, name="study-measure"),
    path(f"{_STUDY}/discard/", views.study_discard, name="study-discard"),
    path(f"{_STUDY}/blank/print/", views.study_blank_print, name="study-blank-print"),
]
