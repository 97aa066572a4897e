"""The address of the calendar."""

from django.urls import path

from racedesk.calendars import views

urlpatterns = [path("<slug:club>/calendar.ics", views.event_calendar, name="event-calendar")]
