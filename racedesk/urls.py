"""Addresses of the whole: the race side, then the inspection side."""

from django.urls import include, path

urlpatterns = [
    path("", include("inspection.urls")),
]
