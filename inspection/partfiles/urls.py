"""Addresses of files of parts."""

from django.urls import path

from inspection.partfiles import views

urlpatterns = [
    path("<slug:club>/bench/parts/import/", views.part_import, name="part-import"),
    path("<slug:club>/bench/parts/export/", views.part_export, name="part-export"),
]
