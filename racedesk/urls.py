"""Addresses of the whole: the race side, then the inspection side."""

from django.urls import include, path

urlpatterns = [
    path("", include("racedesk.aftertech.urls")),
    path("", include("racedesk.boards.urls")),
    path("", include("racedesk.calendars.urls")),
    path("", include("racedesk.checkin.urls")),
    path("", include("racedesk.draws.urls")),
    path("", include("racedesk.duties.urls")),
    path("", include("racedesk.entries.urls")),
    path("", include("racedesk.entrylists.urls")),
    path("", include("racedesk.events.urls")),
    path("", include("racedesk.groups.urls")),
    path("", include("racedesk.heats.urls")),
    path("", include("racedesk.outlooks.urls")),
    path("", include("racedesk.racecontrol.urls")),
    path("", include("racedesk.raceday.urls")),
    path("", include("racedesk.takings.urls")),
    path("", include("racedesk.redraws.urls")),
    path("", include("racedesk.results.urls")),
    path("", include("racedesk.runningorder.urls")),
    path("", include("racedesk.seasons.urls")),
    path("", include("inspection.urls")),
    # Last: the club's front page takes any single word.
    path("", include("racedesk.visitors.urls")),
]
