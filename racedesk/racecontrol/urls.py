"""Addresses of race control."""

from django.urls import path

from racedesk.racecontrol import views

urlpatterns = [
    path("<slug:club>/heats/<str:public_id>/laps/", views.heat_laps, name="heat-laps"),
    path("<slug:club>/heats/<str:public_id>/laps/echo/", views.heat_echo, name="heat-echo"),
    path("<slug:club>/heats/<str:public_id>/drove/", views.heat_drove, name="heat-drove"),
]
