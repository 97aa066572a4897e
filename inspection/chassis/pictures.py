"""Where the sizes of a chassis are taken: three views of an invented sidewinder, each size a numbered line in one.

Coordinates are those of the views in templates/inspection/chassis/_views.html.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Dimension:
    """One size in a view: from one point to another, its number at (at_x, at_y)."""

    code: str
    number: int
    x1: int
    y1: int
    x2: int
    y2: int
    at_x: int
    at_y: int

    @property
    def ends(self) -> tuple[tuple[int, int, int, int], ...]:
        """The strokes across the ends."""
        dx, dy = (0, 5) if abs(self.x2 - self.x1) >= abs(self.y2 - self.y1) else (5, 0)
        return tuple((x - dx, y - dy, x + dx, y + dy) for x, y in ((self.x1, self.y1), (self.x2, self.y2)))


# Numbered as the form asks for them.
_ORDER = (
    "end_bell", "wall", "center_distance", "across_shafts", "motor_shaft", "axle_diameter", "rear_bushing_span",
    "rear_body_width", "front_bushing_span", "front_body_width", "wheelbase", "motor_below_axle", "chassis_below_axle",
    "rear_axle_height", "front_axle_height", "guide_ahead", "nose_ahead", "guide_holder", "lead_exit_back",
    "lead_exit_side", "lead_routed", "mass_ahead",
)  # fmt: skip


def _line(code: str, x1: int, y1: int, x2: int, y2: int, at: float = 0.5) -> Dimension:
    number = _ORDER.index(code) + 1
    return Dimension(code, number, x1, y1, x2, y2, round(x1 + (x2 - x1) * at), round(y1 + (y2 - y1) * at))


# From above, the front of the car up: the middle at x = 170, the rear axle at y = 372.
PLAN = (
    _line("end_bell", 170, 302, 207, 302, 0.4),
    _line("wall", 170, 326, 222, 326, 0.6),
    _line("rear_bushing_span", 112, 424, 228, 424),
    _line("rear_body_width", 34, 452, 306, 452),
    _line("front_bushing_span", 118, 160, 222, 160),
    _line("front_body_width", 48, 186, 292, 186, 0.8),
    _line("wheelbase", 18, 128, 18, 372),
    _line("guide_ahead", 322, 62, 322, 372, 0.55),
    _line("nose_ahead", 338, 30, 338, 372, 0.3),
    _line("lead_exit_back", 208, 62, 208, 96),
    _line("lead_exit_side", 170, 112, 190, 112, 1.7),
    _line("lead_routed", 190, 112, 190, 296, 0.75),
    _line("mass_ahead", 60, 262, 60, 372, 0.35),
)
# From the side, the front to the left: the track at y = 120, the rear axle at (270, 82).
SIDE = (
    _line("motor_below_axle", 214, 82, 214, 108),
    _line("chassis_below_axle", 300, 82, 300, 112, 0.35),
    _line("rear_axle_height", 244, 82, 244, 112, 0.4),
    _line("front_axle_height", 120, 88, 120, 112),
    _line("guide_holder", 40, 78, 40, 102, 0.3),
)
# Both shafts from the end, large.
SHAFTS = (
    _line("center_distance", 110, 118, 236, 118),
    _line("across_shafts", 88, 24, 262, 24),
    _line("motor_shaft", 88, 96, 132, 96, 0.5),
    _line("axle_diameter", 210, 102, 262, 102, 0.5),
)
NUMBERS = {each.code: each.number for each in (*PLAN, *SIDE, *SHAFTS)}
