"""Addresses of the club: signing in, the club's own page, its members and its log."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from inspection.clubs import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("<slug:club>/club/", views.club_detail, name="club-detail"),
]
