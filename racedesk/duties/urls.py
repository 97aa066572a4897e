"""Addresses of marshal rosters."""

from django.urls import path

from racedesk.duties import views

urlpatterns = [
    path("<slug:club>/races/<str:public_id>/marshals/", views.roster_detail, name="roster-detail"),
    path("<slug:club>/races/<str:public_id>/marshals/print/", views.roster_print, name="roster-print"),
    path("<slug:club>/races/<str:public_id>/marshals/anew/", views.roster_anew, name="roster-anew"),
    path("<slug:club>/races/<str:public_id>/helpers/new/", views.helper_create, name="helper-create"),
    path("<slug:club>/helpers/<int:pk>/release/", views.helper_release, name="helper-release"),
    path("<slug:club>/entries/<str:public_id>/exempt/", views.entry_exempt, name="entry-exempt"),
    path("<slug:club>/entries/<str:public_id>/marshal-again/", views.entry_marshal_again, name="entry-marshal-again"),
    path("<slug:club>/heats/<str:public_id>/missed-duty/", views.duty_missed, name="duty-missed"),
]
