"""Addresses of many entries at once."""

from django.urls import path

from racedesk.entrylists import views

urlpatterns = [
    path("<slug:club>/quick-race/", views.quick_race, name="quick-race"),
    path("<slug:club>/races/<str:public_id>/entries/repeat/", views.entry_repeat, name="entry-repeat"),
    path("<slug:club>/races/<str:public_id>/entries/import/", views.entry_import, name="entry-import"),
    path("<slug:club>/imports/<str:public_id>/", views.entry_import_confirm, name="entry-import-confirm"),
]
