"""Addresses of nights and races."""

from django.urls import path

from racedesk.events import views

urlpatterns = [
    path("<slug:club>/events/", views.event_list, name="event-list"),
    path("<slug:club>/events/new/", views.event_create, name="event-create"),
    path("<slug:club>/events/<str:public_id>/", views.event_detail, name="event-detail"),
    path("<slug:club>/events/<str:public_id>/edit/", views.event_edit, name="event-edit"),
    path("<slug:club>/events/<str:public_id>/races/new/", views.race_create, name="race-create"),
    path("<slug:club>/races/<str:public_id>/edit/", views.race_edit, name="race-edit"),
]
