"""Addresses for visitors. The club's own comes last of all: it would take any single word."""

from django.urls import path

from racedesk.visitors import views

urlpatterns = [
    path("<slug:club>/entries/<str:public_id>/night/", views.driver_page, name="driver-page"),
    path("<slug:club>/entries/<str:public_id>/night/part/", views.driver_page_part, name="driver-page-part"),
    path("<slug:club>/events/<str:public_id>/find/", views.driver_find, name="driver-find"),
    path("<slug:club>/", views.club_home, name="club-home"),
]
