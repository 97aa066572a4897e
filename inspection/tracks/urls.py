"""Addresses of tracks and layouts."""

from django.urls import path

from inspection.tracks import views

urlpatterns = [
    path("<slug:club>/tracks/", views.track_list, name="track-list"),
    path("<slug:club>/tracks/add/", views.track_create, name="track-create"),
    path("<slug:club>/tracks/<slug:public_id>/", views.track_detail, name="track-detail"),
    path("<slug:club>/tracks/<slug:public_id>/edit/", views.track_edit, name="track-edit"),
    path("<slug:club>/tracks/<slug:public_id>/layouts/add/", views.layout_create, name="layout-create"),
    path("<slug:club>/layouts/<slug:public_id>/", views.layout_detail, name="layout-detail"),
]
