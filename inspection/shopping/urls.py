"""Addresses of what a class needs."""

from django.urls import path

from inspection.shopping import views

urlpatterns = [
    path("<slug:club>/bench/shopping/", views.shopping_page, name="shopping-list"),
    path("<slug:club>/bench/shopping/print/", views.shopping_print, name="shopping-print"),
]
