"""Addresses of the shared lists."""

from django.urls import path

from inspection.choicelists import views

_LISTS = "<slug:club>/lists"

urlpatterns = [
    path(f"{_LISTS}/", views.choicelist_list, name="choicelist-list"),
    path(f"{_LISTS}/create/", views.choicelist_create, name="choicelist-create"),
    path(f"{_LISTS}/<str:public_id>/", views.choicelist_detail, name="choicelist-detail"),
    path(f"{_LISTS}/<str:public_id>/edit/", views.choicelist_edit, name="choicelist-edit"),
]
