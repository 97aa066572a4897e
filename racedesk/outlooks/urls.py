"""The address of what fits."""

from django.urls import path

from racedesk.outlooks import views

urlpatterns = [path("<slug:club>/events/<str:public_id>/what-fits/", views.event_fits, name="event-fits")]
