"""Addresses of the tech line."""

from django.urls import path

from inspection.inspections import views

urlpatterns = [
    path("<slug:club>/tech/", views.occasion_list, name="occasion-list"),
    path("<slug:club>/tech/new/", views.occasion_create, name="occasion-create"),
    path("<slug:club>/tech/<slug:public_id>/", views.occasion_detail, name="occasion-detail"),
    path("<slug:club>/tech/<slug:public_id>/open/", views.open_card, name="inspection-open"),
]
