"""Addresses of the director's table and the wall."""

from django.urls import path

from racedesk.boards import views

urlpatterns = [
    path("<slug:club>/heats/<str:public_id>/", views.heat_run, name="heat-run"),
    path("<slug:club>/heats/<str:public_id>/command/", views.heat_command, name="heat-command"),
    path("<slug:club>/heats/<str:public_id>/feed/", views.heat_feed, name="heat-feed"),
    path("<slug:club>/events/<str:public_id>/board/", views.heat_board, name="heat-board"),
    path("<slug:club>/events/<str:public_id>/board/feed/", views.heat_board_feed, name="heat-board-feed"),
]
