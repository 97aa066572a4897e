"""Addresses of the inspection side. Usable alone, or included by racedesk.urls."""

from django.urls import URLPattern, URLResolver

urlpatterns: list[URLPattern | URLResolver] = []
