"""Addresses of the day."""

from django.urls import path

from racedesk.raceday import views

urlpatterns = [
    path("<slug:club>/events/<str:public_id>/day/", views.event_day, name="event-day"),
    path("<slug:club>/events/<str:public_id>/day/part/", views.event_day_part, name="event-day-part"),
]
