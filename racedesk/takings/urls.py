"""Addresses of the takings."""

from django.urls import path

from racedesk.takings import views

urlpatterns = [
    path("<slug:club>/events/<str:public_id>/takings/", views.takings, name="takings"),
    path("<slug:club>/entries/<str:public_id>/payment/", views.entry_payment, name="entry-payment"),
    path("<slug:club>/payments/<int:number>/take-back/", views.payment_take_back, name="payment-take-back"),
]
