"""Addresses of impound. Each takes the card's public id."""

from django.urls import path

from inspection.impound import views

urlpatterns = [
    path("<slug:club>/cards/<slug:public_id>/impound/", views.put_in, name="inspection-impound"),
    path("<slug:club>/cards/<slug:public_id>/touch/", views.touch, name="touch-create"),
]
