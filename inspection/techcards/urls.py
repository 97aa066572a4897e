"""Addresses of the card and its paper."""

from django.urls import path

from inspection.techcards import views

CARD = "<slug:club>/cards/<slug:public_id>"

urlpatterns = [
    path(f"{CARD}/", views.detail, name="inspection-detail"),
    path(f"{CARD}/answer/", views.record, name="finding-record"),
    path(f"{CARD}/assess/", views.assess, name="finding-assess"),
    path(f"{CARD}/ruling/", views.rule, name="finding-rule"),
    path(f"{CARD}/sign/", views.sign, name="inspection-sign"),
    path(f"{CARD}/again/", views.again, name="inspection-again"),
    path(f"{CARD}/build/", views.take_up, name="inspection-take-up"),
    path(f"{CARD}/print/", views.print_card, name="card-print"),
    path("<slug:club>/tech/<slug:public_id>/cards/", views.print_cards, name="cards-print"),
    path("<slug:club>/tech/<slug:public_id>/blank-card/", views.print_blank, name="card-blank-print"),
]
