"""Addresses of a night's running order."""

from django.urls import path

from racedesk.runningorder import views

urlpatterns = [
    path("<slug:club>/events/<str:public_id>/running-order/", views.running_order_detail, name="running-order"),
    path("<slug:club>/events/<str:public_id>/running-order/turns/", views.turns_set, name="turns-set"),
]
