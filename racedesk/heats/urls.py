"""Addresses of heats."""

from django.urls import path

from racedesk.heats import views

urlpatterns = [
    path("<slug:club>/races/<str:public_id>/heats/", views.heat_list, name="heat-list"),
    path("<slug:club>/draws/<str:public_id>/print/<str:kind>/", views.heat_print, name="heat-print"),
]
