"""Addresses of re-draws."""

from django.urls import path

from racedesk.redraws import views

urlpatterns = [
    path("<slug:club>/races/<str:public_id>/redraw/", views.redraw_create, name="redraw-create"),
    path("<slug:club>/races/<str:public_id>/redraw/plan/", views.redraw_plan, name="redraw-plan"),
    path("<slug:club>/races/<str:public_id>/redraw/wish/", views.redraw_wish, name="redraw-wish"),
]
