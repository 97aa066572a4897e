"""Addresses of draws."""

from django.urls import path

from racedesk.draws import views

urlpatterns = [
    path("<slug:club>/races/<str:public_id>/draw/", views.draw_create, name="draw-create"),
    path("<slug:club>/entries/<str:public_id>/admit-to-draw/", views.draw_override, name="draw-override"),
    path("<slug:club>/draws/<str:public_id>/", views.draw_detail, name="draw-detail"),
    path("<slug:club>/draws/<str:public_id>/print/", views.draw_print, name="draw-print"),
    path("<slug:club>/draws/<str:public_id>/state/", views.draw_state, name="draw-state"),
]
