"""Addresses of signing in, and of the club's members."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from inspection.members import views

urlpatterns = [
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("password/", views.NewPassword.as_view(), name="password-change"),
    path("<slug:club>/club/members/", views.member_list, name="member-list"),
    path("<slug:club>/club/members/add/", views.member_add, name="member-add"),
    path("<slug:club>/club/members/<int:user_id>/", views.member_edit, name="member-edit"),
    path("<slug:club>/club/members/<int:user_id>/remove/", views.member_remove, name="member-remove"),
    path("<slug:club>/club/members/<int:user_id>/password/", views.member_password, name="member-password"),
]
