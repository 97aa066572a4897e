"""Addresses of results. Each takes the race's public id, but for the penalty that is taken back."""

from django.urls import path

from racedesk.results import views

urlpatterns = [
    path("<slug:club>/races/<str:public_id>/result/", views.result_detail, name="result-detail"),
    path("<slug:club>/races/<str:public_id>/result/preview/", views.result_preview, name="result-preview"),
    path("<slug:club>/races/<str:public_id>/result/publish/", views.result_publish, name="result-publish"),
    path("<slug:club>/races/<str:public_id>/result/correct/", views.result_correct, name="result-correct"),
    path("<slug:club>/races/<str:public_id>/result/print/", views.result_print, name="result-print"),
    path("<slug:club>/races/<str:public_id>/penalties/new/", views.penalty_create, name="penalty-create"),
    path("<slug:club>/penalties/<int:pk>/withdraw/", views.penalty_withdraw, name="penalty-withdraw"),
]
