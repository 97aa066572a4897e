"""Addresses of builds."""

from django.urls import path

from inspection.builds import views

urlpatterns = [
    path("<slug:club>/cars/<str:public_id>/builds/create/", views.build_create, name="build-create"),
    path("<slug:club>/cars/<str:public_id>/builds/echo/", views.build_echo, name="build-echo"),
    path("<slug:club>/builds/<str:public_id>/", views.build_detail, name="build-detail"),
]
