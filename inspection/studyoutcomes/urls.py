"""Addresses of what studies have found."""

from django.urls import path

from inspection.studyoutcomes import views

_STUDY = "<slug:club>/studies/<str:public_id>"

urlpatterns = [
    path(f"{_STUDY}/", views.study_detail, name="study-detail"),
    path(f"{_STUDY}/adopt/", views.study_adopt, name="study-adopt"),
    path(f"{_STUDY}/release/", views.study_release, name="study-release"),
]
