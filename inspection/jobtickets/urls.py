"""Addresses of job tickets."""

from django.urls import path

from inspection.jobtickets import views

_JOBS = "<slug:club>/jobs"

urlpatterns = [
    path(f"{_JOBS}/", views.job_list, name="job-list"),
    path(f"{_JOBS}/create/", views.job_create, name="job-create"),
    path(f"{_JOBS}/<str:public_id>/", views.job_detail, name="job-detail"),
    path(f"{_JOBS}/<str:public_id>/edit/", views.job_edit, name="job-edit"),
    path(f"{_JOBS}/<str:public_id>/line/", views.job_line_create, name="job-line-create"),
    path(f"{_JOBS}/lines/<str:public_id>/take-back/", views.job_line_take_back, name="job-line-take-back"),
    path(f"{_JOBS}/<str:public_id>/state/", views.job_state, name="job-state"),
    path(f"{_JOBS}/<str:public_id>/print/", views.job_print, name="job-print"),
]
