"""Addresses of the inspection side. Usable alone, or included by racedesk.urls."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("inspection.clubs.urls")),
]
