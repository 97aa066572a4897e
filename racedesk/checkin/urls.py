"""Addresses of one entry."""

from django.urls import path

from racedesk.checkin import views

urlpatterns = [
    path("<slug:club>/entries/<str:public_id>/", views.entry_detail, name="entry-detail"),
    path("<slug:club>/entries/<str:public_id>/check-in/", views.entry_check_in, name="entry-check-in"),
    path("<slug:club>/entries/<str:public_id>/put-back/", views.entry_put_back, name="entry-put-back"),
    path("<slug:club>/entries/<str:public_id>/no-show/", views.entry_no_show, name="entry-no-show"),
    path("<slug:club>/entries/<str:public_id>/withdraw/", views.entry_withdraw, name="entry-withdraw"),
    path("<slug:club>/entries/<str:public_id>/override/", views.entry_override, name="entry-override"),
    path("<slug:club>/entries/<str:public_id>/car/", views.entry_car, name="entry-car"),
]
