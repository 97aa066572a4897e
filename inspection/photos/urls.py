"""Addresses of photographs. Each takes the card's public id; one photograph has an id of its own besides."""

from django.urls import path

from inspection.photos import views

urlpatterns = [
    path("<slug:club>/cards/<slug:public_id>/photos/", views.photo_list, name="photo-list"),
    path("<slug:club>/cards/<slug:public_id>/photos/<slug:photo>/", views.photo_detail, name="photo-detail"),
]
