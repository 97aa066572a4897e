"""Addresses of many entries at once."""

from django.urls import path

from racedesk.entrylists import views

urlpatterns = [
    path("<slug:club>/quick-race/", views.quick_race, name="quick-race"),
    path("<slug:club>/races/<str:public_id>/entries/repeat/", views.entry_repeat, name="entry-repeat"),
]
