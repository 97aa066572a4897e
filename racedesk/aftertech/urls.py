"""Addresses of tech after a race. Each takes the race's public id."""

from django.urls import path

from racedesk.aftertech import views

RACE = "<slug:club>/races/<str:public_id>/after-race-tech"

urlpatterns = [
    path(f"{RACE}/", views.detail, name="techcall-detail"),
    path(f"{RACE}/call/", views.call, name="techcall-create"),
    path(f"{RACE}/print/", views.print_call, name="techcall-print"),
    path(f"{RACE}/dismiss/", views.dismiss, name="finding-dismiss"),
    path(f"{RACE}/confirm/", views.confirm, name="finding-confirm"),
]
