"""Drawings of where a car is measured: one of four views, and the measured distance marked in it.

Coordinates are those of the views in templates/inspection/drawings, 240 wide and 116 high, the plate at 92.
"""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True)
class Drawing:
    """A view and the distance measured in it, from one point to another. words: what the picture shows, lazy."""

    view: str
    x1: int
    y1: int
    x2: int
    y2: int
    words: object

    @property
    def template(self) -> str:
        return f"inspection/drawings/_{self.view}.html"

    @property
    def ends(self) -> tuple[tuple[int, int, int, int], ...]:
        """The strokes across the ends of the distance."""
        across = (0, 5) if abs(self.x2 - self.x1) >= abs(self.y2 - self.y1) else (5, 0)
        return tuple(
            (x - across[0], y - across[1], x + across[0], y + across[1])
            for x, y in ((self.x1, self.y1), (self.x2, self.y2))
        )


DRAWINGS: dict[str, Drawing] = {
    "clearance": Drawing("side", 120, 82, 120, 92, _("from the side: between the axles, plate to lowest point")),
    "clearance-front": Drawing("side", 30, 80, 30, 92, _("from the side: ahead of the front axle, plate to body")),
    "clearance-rear": Drawing("side", 212, 80, 212, 92, _("from the side: behind the rear axle, plate to body")),
    "height": Drawing("side", 128, 28, 128, 92, _("from the side: plate to the highest point")),
    "spoiler-height": Drawing("side", 226, 38, 226, 54, _("from the side: foot to upper edge of the spoiler")),
    "wheelbase": Drawing("side", 62, 74, 182, 74, _("from the side: front axle to rear axle")),
    "front-tire-diameter": Drawing("side", 62, 56, 62, 92, _("from the side: across the front tire")),
    "rear-tire-diameter": Drawing("side", 182, 56, 182, 92, _("from the side: across the rear tire")),
    "guide-depth": Drawing("side", 44, 92, 44, 108, _("from the side: depth of the guide blade")),
    "width": Drawing("rear", 50, 48, 190, 48, _("from behind: widest part of the body")),
    "width-over-tires": Drawing("rear", 56, 84, 184, 84, _("from behind: over the tires, outside to outside")),
    "tire-width": Drawing("rear", 56, 74, 84, 74, _("from behind: across the tread")),
    "axle-height": Drawing("rear", 120, 70, 120, 84, _("from behind: top of the axle to the underside of the chassis")),
    "bumper-height": Drawing("rear", 104, 76, 104, 92, _("from behind: plate to the lower edge of the bumper")),
    "length": Drawing("plan", 14, 104, 226, 104, _("from above: foremost to rearmost point")),
    "body-width": Drawing("plan", 186, 18, 186, 98, _("from above: across the body at the rear axle")),
    "body-width-front": Drawing("plan", 62, 22, 62, 94, _("from above: across the body at the front axle")),
    "chassis-width": Drawing("underside", 120, 34, 120, 82, _("from below: widest part of the chassis")),
    "guide-length": Drawing("underside", 24, 66, 56, 66, _("from below: along the guide blade")),
}


def drawing_of(name: str) -> Drawing | None:
    """The drawing of a name that the register gives, or None."""
    return DRAWINGS.get(name)
