"""What cannot be done with tracks and their layouts."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class TrackNameTaken(Refused):
    code = "track_name_taken"
    message = _("The club has a track called “{name}” already.")


class LanesMissing(Refused):
    code = "lanes_missing"
    message = _("A layout needs at least one lane.")


class LaneNumberTwice(Refused):
    code = "lane_number_twice"
    message = _("Lane number {number} stands there twice.")


class PostNumberTwice(Refused):
    code = "post_number_twice"
    message = _("Marshal post number {number} stands there twice.")


class LaneOrderWrong(Refused):
    """The usual order must name each lane once."""

    code = "lane_order_wrong"
    message = _("The usual lane order must hold each lane once: {lanes}, in the order drivers move through them.")


class TrackChangedMeanwhile(ChangedMeanwhile):
    code = "track_changed_meanwhile"


class LayoutChangedMeanwhile(ChangedMeanwhile):
    code = "layout_changed_meanwhile"
