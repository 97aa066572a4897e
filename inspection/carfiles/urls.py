"""Addresses of files of cars. They stand before those of the cars: "import" is no car's id."""

from django.urls import path

from inspection.carfiles import views

urlpatterns = [
    path("schemas/car.json", views.car_schema, name="car-schema"),
    path("<slug:club>/cars/export/", views.car_export, name="car-export"),
    path("<slug:club>/cars/import/", views.car_import, name="car-import"),
]
