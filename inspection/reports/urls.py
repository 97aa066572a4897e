"""Addresses of the fail notice and the inspection report. Each takes the card's public id."""

from django.urls import path

from inspection.reports import views

urlpatterns = [
    path("<slug:club>/cards/<slug:public_id>/notice/", views.notice, name="notice-detail"),
    path("<slug:club>/cards/<slug:public_id>/notice/print/", views.notice_print, name="notice-print"),
    path("<slug:club>/cards/<slug:public_id>/report/", views.report_print, name="report-print"),
]
