"""Addresses of the inspection side. Usable alone, or included by racedesk.urls."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("inspection.benchsheets.urls")),
    path("", include("inspection.builds.urls")),
    path("", include("inspection.carfiles.urls")),
    path("", include("inspection.cars.urls")),
    path("", include("inspection.chassis.urls")),
    path("", include("inspection.choicelists.urls")),
    path("", include("inspection.drafting.urls")),
    path("", include("inspection.clubs.urls")),
    path("", include("inspection.comparisons.urls")),
    path("", include("inspection.drivers.urls")),
    path("", include("inspection.exchange.urls")),
    path("", include("inspection.founding.urls")),
    path("", include("inspection.gauges.urls")),
    # After the gauges, whose own words ("create") would else be taken for a gauge.
    path("", include("inspection.calibrations.urls")),
    path("", include("inspection.impound.urls")),
    path("", include("inspection.inspections.urls")),
    path("", include("inspection.jobtickets.urls")),
    path("", include("inspection.lapforecasts.urls")),
    path("", include("inspection.members.urls")),
    path("", include("inspection.motors.urls")),
    # Before the parts, for which its words would be a part.
    path("", include("inspection.partfiles.urls")),
    path("", include("inspection.parts.urls")),
    path("", include("inspection.photos.urls")),
    path("", include("inspection.planner.urls")),
    path("", include("inspection.prepsheets.urls")),
    path("", include("inspection.reports.urls")),
    path("", include("inspection.register.urls")),
    path("", include("inspection.rulesheets.urls")),
    path("", include("inspection.runs.urls")),
    path("", include("inspection.shopping.urls")),
    path("", include("inspection.studies.urls")),
    path("", include("inspection.studyoutcomes.urls")),
    path("", include("inspection.techcards.urls")),
    path("", include("inspection.tracks.urls")),
]
