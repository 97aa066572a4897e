"""Addresses of the club: its own page, its settings and its log."""

from django.urls import path

from inspection.clubs import views

urlpatterns = [
    path("", views.home, name="home"),
    path("<slug:club>/club/", views.club_detail, name="club-detail"),
    path("<slug:club>/club/edit/", views.club_edit, name="club-edit"),
    path("<slug:club>/club/log/", views.log_list, name="log-list"),
]
