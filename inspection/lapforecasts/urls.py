"""The address of the lap prediction."""

from django.urls import path

from inspection.lapforecasts import views

urlpatterns = [
    path("<slug:club>/bench/sheets/<str:public_id>/laps/", views.lap_prediction, name="lap-prediction"),
]
