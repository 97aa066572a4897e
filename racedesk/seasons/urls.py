"""Addresses of seasons."""

from django.urls import path

from racedesk.seasons import views

urlpatterns = [
    path("<slug:club>/seasons/", views.season_list, name="season-list"),
    path("<slug:club>/seasons/new/", views.season_create, name="season-create"),
    path("<slug:club>/seasons/<str:public_id>/", views.season_detail, name="season-detail"),
    path("<slug:club>/seasons/<str:public_id>/print/", views.season_print, name="season-print"),
    path("<slug:club>/seasons/<str:public_id>/rounds/new/", views.round_create, name="round-create"),
    path("<slug:club>/seasons/<str:public_id>/rounds/<int:number>/remove/", views.round_remove, name="round-remove"),
]
