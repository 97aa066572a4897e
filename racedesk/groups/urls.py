"""Addresses of groups."""

from django.urls import path

from racedesk.groups import views

urlpatterns = [path("<slug:club>/races/<str:public_id>/groups/", views.group_draw, name="group-draw")]
