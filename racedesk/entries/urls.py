"""Addresses of the entry desk."""

from django.urls import path

from racedesk.entries import views

urlpatterns = [
    path("<slug:club>/races/<str:public_id>/entries/", views.entry_list, name="entry-list"),
    path("<slug:club>/races/<str:public_id>/entries/new/", views.entry_create, name="entry-create"),
    path("<slug:club>/races/<str:public_id>/entries/move-up/", views.entry_move_up, name="entry-move-up"),
    path("<slug:club>/races/<str:public_id>/entries/print/", views.entry_print, name="entry-print"),
]
