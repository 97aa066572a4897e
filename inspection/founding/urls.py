"""The first page of an installation."""

from django.urls import path

from inspection.founding import views

urlpatterns = [
    path("start/", views.first_run, name="first-run"),
]
