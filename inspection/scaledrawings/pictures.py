"""A build drawn to scale: the rear axle from above and from the end, the pair of gears, the guide in its slot.

Pictures are shapes with coordinates in px as text, so that no language writes them with a comma; their colors are
classes. Every picture has a title and a description for who does not see it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import acos, cos, hypot, pi, sin, sqrt

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspection.fit.axle import REAR, lines_of
from inspection.fit.findings import Finding, FitCode, FitReport, Place
from inspection.fit.parts import AxleSide, Build, Side, Slot, Targets
from inspection.gearing.involute import involute
from inspection.gearing.mesh import Mesh
from inspection.gearing.spur import SpurGear
from inspection.units import DecimalMark

LETTER = 8.0  # how wide a letter of a label is at most, px
ROW = 23
WIDTH = 700


def px(value: float) -> str:
    """A coordinate as SVG reads it, whatever the language of the page."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape. tag: "rect", "line", "circle", "path" or "text"; at: its attributes; style: its class."""

    tag: str
    style: str
    at: Mapping[str, str]
    words: str = ""


@dataclass(slots=True)
class Picture:
    """Shapes in a frame of px. name: unique on a page."""

    name: str
    title: str
    width: int
    height: int = 0
    about: list[str] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)

    def rect(self, x1: float, y1: float, x2: float, y2: float, style: str) -> None:
        left, right = sorted((x1, x2))
        top, bottom = sorted((y1, y2))
        at = {"x": px(left), "y": px(top), "width": px(right - left), "height": px(bottom - top)}
        self.shapes.append(Shape("rect", style, at))

    def line(self, x1: float, y1: float, x2: float, y2: float, style: str) -> None:
        self.shapes.append(Shape("line", style, {"x1": px(x1), "y1": px(y1), "x2": px(x2), "y2": px(y2)}))

    def circle(self, x: float, y: float, radius: float, style: str) -> None:
        self.shapes.append(Shape("circle", style, {"cx": px(x), "cy": px(y), "r": px(max(radius, 0))}))

    def path(self, points: Iterable[tuple[float, float]], style: str, *, closed: bool = True) -> None:
        told = "L".join(f"{px(x)} {px(y)}" for x, y in points)
        self.shapes.append(Shape("path", style, {"d": f"M{told}{'Z' if closed else ''}"}))

    def text(self, x: float, y: float, words: str, style: str) -> None:
        if "cut" in style.split():  # what runs below the words gives way to them, on paper too
            half = len(words) * LETTER / 2 + 4
            self.rect(x - half, y - 15, x + half, y + 5, "blank")
        self.shapes.append(Shape("text", style, {"x": px(x), "y": px(y)}, words))

    def say(self, *words: str) -> None:
        self.about += words

    @property
    def description(self) -> str:
        return " ".join(f"{words}." for words in self.about)


@dataclass(frozen=True, slots=True)
class Motor:
    """What of the motor is drawn, in mm; None where it was not measured."""

    length: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class _Label:
    """Words for a gap between two places along the axle, in px from the middle."""

    x: float
    y: float
    words: str
    style: str


def figure(value: object, decimal_mark: DecimalMark = ".", places: int = 2) -> str:
    """A number of mm as drawings show it."""
    return f"{float(value):.{places}f}".replace(".", decimal_mark)  # type: ignore[arg-type]


def _style(finding: Finding | None) -> str:
    """The class of a finding's label: what it comes to is said in words beside, too."""
    return "plain" if finding is None or finding.is_met else "bad"


def _wrong(finding: Finding | None) -> str:
    return "" if finding is None or finding.is_met else " " + _("does not fit")


# The rear axle from above.


def rear_axle(
    build: Build,
    report: FitReport,
    targets: Targets,
    *,
    motor: Motor = Motor(),
    decimal_mark: DecimalMark = ".",
) -> Picture:
    """From above, the front of the car up, with every gap. The axle stands pushed in from the side of the gears."""
    plan = _Plan(build, report, targets, motor, decimal_mark)
    return plan.drawn()


class _Plan:
    """Draws the rear axle; positions in mm from the middle, to the right positive."""

    def __init__(
        self, build: Build, report: FitReport, targets: Targets, motor: Motor, decimal_mark: DecimalMark
    ) -> None:
        self.build, self.report, self.motor, self.decimal_mark = build, report, motor, decimal_mark
        self.lines = lines_of(build.rear, REAR, targets)
        self.play = max(float(self.lines.play.value), 0.0)
        self.drive = build.drive.side
        ends = [float(self.lines.side(side).tire_out.value) + self.play for side in Side]
        ends += [float(part.body.value) + 2 for part in (build.rear.left, build.rear.right) if part.body is not None]
        self.scale = (WIDTH / 2 - 20) / max(ends)
        tallest = max(float(build.rear.side(side).wheel.tire_diameter.value) for side in Side)
        ahead = float(build.drive.center_distance.value) if build.drive.center_distance else 0.0
        ahead += (self.motor.height or 12.0) / 2
        self.axle_y = 16 + max(tallest / 2, ahead) * self.scale
        self.below = self.axle_y + tallest / 2 * self.scale
        self.labels: list[_Label] = []
        self.picture = Picture("rear-axle", _("Rear axle from above, front of the car up, to scale"), WIDTH)

    def drawn(self) -> Picture:
        self._motor()
        for side in Side:
            self._side(side)
        self._axle()
        self._gaps()
        y = self._labels()
        self._width(y)
        self.picture.height = round(y + 44)
        return self.picture

    def x(self, side: Side, out: float) -> float:
        return WIDTH / 2 + (out if side is Side.RIGHT else -out) * self.scale

    def away(self, side: Side) -> float:
        """How far a side stands out in this picture besides its own sum, in mm."""
        return 0.0 if side is self.drive else self.play

    def _side(self, side: Side) -> None:
        part, lines, away = self.build.rear.side(side), self.lines.side(side), self.away(side)
        picture, wheel = self.picture, part.wheel
        reach = float(part.reach.value)
        half = float(wheel.tire_diameter.value) / 2 * self.scale
        tire_in, tire_out = float(lines.tire_in.value) + away, float(lines.tire_out.value) + away
        hub = float(lines.hub.value) + away
        picture.rect(
            self.x(side, reach - 3.4), self.axle_y - half, self.x(side, reach - 0.8), self.axle_y + 26, "hatch"
        )
        picture.rect(self.x(side, reach - 3.8), self.axle_y - 22, self.x(side, reach), self.axle_y + 22, "part")
        picture.rect(self.x(side, tire_in), self.axle_y - half, self.x(side, tire_out), self.axle_y + half, "tire")
        if wheel.rim_diameter is not None:
            for way in (-1, 1):
                y = self.axle_y + way * float(wheel.rim_diameter.value) / 2 * self.scale
                picture.line(self.x(side, tire_in), y, self.x(side, tire_out), y, "thin")
        bore = float(wheel.bore.value) if wheel.bore is not None else max(tire_out - hub, 1.0)
        picture.rect(self.x(side, hub), self.axle_y - 18, self.x(side, hub + bore), self.axle_y + 18, "part")
        self._spacers(side, part)
        if part.body is not None:
            body = float(part.body.value)
            top, bottom = self.axle_y - half * 0.9, self.axle_y + half * 0.9
            picture.rect(self.x(side, body), top, self.x(side, body + 1.2), bottom, "body")
        middle = (self.x(side, tire_in) + self.x(side, tire_out)) / 2
        width = figure(wheel.tire_width.value, self.decimal_mark)
        picture.text(middle, self.axle_y - half + 22, width, "soft middle")

    def _spacers(self, side: Side, part: AxleSide) -> None:
        at = float(part.reach.value) + self.away(side)
        for spacer in part.inner_spacers:
            at = self._spacer(side, at, float(spacer.value))
        gear, lines = part.gear, self.lines.side(side)
        if gear is not None and lines.gear_in is not None and lines.gear_out is not None:
            half = float(gear.outside_diameter.value) / 2 * self.scale
            away = self.away(side)
            start, end = float(lines.gear_in.value) + away, float(lines.gear_out.value) + away
            hub = float(gear.hub_width.value)
            hub_at = (start - hub, start) if gear.hub_in else (end, end + hub)
            ends = [self.x(side, one) for one in hub_at]
            self.picture.rect(ends[0], self.axle_y - 25, ends[1], self.axle_y + 25, "part")
            self.picture.rect(self.x(side, start), self.axle_y - half, self.x(side, end), self.axle_y + half, "gear")
            at = at + hub + float(gear.face_width.value)
        for spacer in part.outer_spacers:
            at = self._spacer(side, at, float(spacer.value))

    def _spacer(self, side: Side, at: float, thickness: float) -> float:
        self.picture.rect(self.x(side, at), self.axle_y - 17, self.x(side, at + thickness), self.axle_y + 17, "set")
        words = _("spacer {size}").format(size=figure(thickness, self.decimal_mark))
        self.labels.append(_Label(self.x(side, at + thickness / 2), self.axle_y + 17, words, "set"))
        return at + thickness

    def _axle(self) -> None:
        length = self.build.rear.length
        out = {side: float(self.lines.side(side).hub.value) + self.away(side) + 2 for side in Side}
        if length is not None:
            spare = (float(length.value) - sum(one - 2 for one in out.values())) / 2
            out = {side: one - 2 + spare for side, one in out.items()}
        y = self.axle_y
        self.picture.rect(self.x(Side.LEFT, out[Side.LEFT]), y - 9, self.x(Side.RIGHT, out[Side.RIGHT]), y + 9, "axle")

    def _motor(self) -> None:
        drive = self.build.drive
        if drive.center_distance is None or drive.end_bell is None:
            return
        y = self.axle_y - float(drive.center_distance.value) * self.scale
        face = float(drive.end_bell.value)
        length, half = self.motor.length or 2 * face, (self.motor.height or 12.0) / 2 * self.scale
        known = self.motor.length is not None and self.motor.height is not None
        self.picture.rect(
            self.x(self.drive, face),
            y - half,
            self.x(self.drive, face - length),
            y + half,
            "motor" if known else "guess",
        )
        self.picture.text(self.x(self.drive, face - length / 2), y - half + 22, _("motor"), "soft middle")
        if drive.pinion is not None:
            near = face + float(drive.pinion.gap.value)
            far, half = near + float(drive.pinion.length.value), float(drive.pinion.outside_diameter.value) / 2
            self.picture.rect(self.x(self.drive, face), y - 6, self.x(self.drive, near), y + 6, "axle")
            ends = self.x(self.drive, near), self.x(self.drive, far)
            self.picture.rect(ends[0], y - half * self.scale, ends[1], y + half * self.scale, "gear")
        x = self.x(self.drive, max(face - length * 0.55, 0))
        self.picture.line(x, y, x, self.axle_y, "size")
        words = _("{size} between centers").format(size=figure(drive.center_distance.value, self.decimal_mark))
        self.picture.text(x, y + 5, words, "plain middle cut")
        self.picture.say(words)

    def _gaps(self) -> None:
        for finding in self.report.findings:
            if finding.worn or not finding.place.value.startswith(REAR):
                continue
            place = self._gap(finding)
            if place is None:
                continue
            named = _GAPS[finding.code]
            words = f"{named} {figure(finding.value, self.decimal_mark)}{_wrong(finding)}"
            self.labels.append(_Label(place[0], place[1], words, _style(finding)))

    def _gap(self, finding: Finding) -> tuple[float, float] | None:
        """Where the gap of a finding is, in px; None where it has no place in this view."""
        side = Side.RIGHT if finding.place.value.endswith("right") else Side.LEFT
        other = Side.LEFT if self.drive is Side.RIGHT else Side.RIGHT
        part, lines, away = self.build.rear.side(side), self.lines.side(side), self.away(side)
        drive = self.build.drive
        tire_in, tire_out = float(lines.tire_in.value) + away, float(lines.tire_out.value) + away
        near = float(drive.end_bell.value) if drive.end_bell else 0.0
        gap, length = (float(drive.pinion.gap.value), float(drive.pinion.length.value)) if drive.pinion else (0.0, 0.0)
        motor_y = self.axle_y - float(drive.center_distance.value if drive.center_distance else 0) * self.scale
        gear_in, gear_out = (
            None if one is None else float(one.value) + away for one in (lines.gear_in, lines.gear_out)
        )
        ends = {
            FitCode.END_PLAY: (float(self.build.rear.side(other).reach.value), None, self.play, self.axle_y + 20),
            FitCode.BODY_FLOAT: (tire_out, part.body, 0.0, self.axle_y + 30),
            FitCode.TIRE_TO_SPUR: (gear_out, lines.tire_in, away, self.axle_y + 40),
            FitCode.SPUR_TO_CHASSIS: (gear_in, drive.wall, 0.0, self.axle_y + 48),
            FitCode.TIRE_TO_PINION: (tire_in, None, near + gap + length - tire_in, motor_y),
            FitCode.PINION_TO_END_BELL: (near, None, gap, motor_y),
        }.get(finding.code)
        if ends is None or ends[0] is None:
            return None
        start, end, more, y = ends
        finish = start + more if end is None else float(end.value) + more
        return self.x(other if finding.code is FitCode.END_PLAY else side, (start + finish) / 2), y

    def _labels(self) -> float:
        """Words under the axle, the innermost first on each side, so that no leader crosses words; the last row's y."""
        taken: list[list[tuple[float, float]]] = []
        middle, lowest = WIDTH / 2, self.below + 8
        for is_right in (False, True):
            row = -1
            here = [label for label in self.labels if (label.x >= middle) is is_right]
            for label in sorted(here, key=lambda one: abs(one.x - middle)):
                length = len(label.words) * LETTER + 14
                span = (label.x - length, label.x + 4) if is_right else (label.x - 4, label.x + length)
                row += 1
                while row < len(taken) and any(span[0] < end and start < span[1] for start, end in taken[row]):
                    row += 1
                while len(taken) <= row:
                    taken.append([])
                taken[row].append(span)
                y = self.below + 26 + row * ROW
                self.picture.line(label.x, label.y, label.x, y - 5, f"leader {label.style}")
                side = label.x - 6 if is_right else label.x + 6
                self.picture.line(label.x, y - 5, side, y - 5, f"leader {label.style}")
                anchor = "end" if is_right else "start"
                self.picture.text(label.x + (-10 if is_right else 10), y, label.words, f"{label.style} {anchor}")
                self.picture.say(label.words)
                lowest = max(lowest, y)
        return lowest

    def _width(self, y: float) -> None:
        finding = self.report.find(FitCode.WIDTH, Place.REAR)
        if finding is None:
            return
        ends = [
            self.x(side, float(self.lines.side(side).tire_out.value) + self.away(side))
            for side in (Side.LEFT, Side.RIGHT)
        ]
        style, at = _style(finding), y + 22
        for x in ends:
            self.picture.line(x, self.below, x, at + 6, "leader thin")
        self.picture.line(ends[0], at, ends[1], at, f"size {style}")
        words = _("{size} over the tires").format(size=figure(finding.value, self.decimal_mark)) + _wrong(finding)
        self.picture.text(WIDTH / 2, at + 5, words, f"{style} middle cut")
        self.picture.say(words)


_GAPS: Mapping[FitCode, object] = {
    FitCode.END_PLAY: gettext_lazy("end play"),
    FitCode.BODY_FLOAT: gettext_lazy("body float"),
    FitCode.TIRE_TO_SPUR: gettext_lazy("tire to gear"),
    FitCode.SPUR_TO_CHASSIS: gettext_lazy("gear to chassis"),
    FitCode.TIRE_TO_PINION: gettext_lazy("tire to pinion"),
    FitCode.PINION_TO_END_BELL: gettext_lazy("pinion to end bell"),
}


# The same from the end.


def end_view(
    build: Build,
    report: FitReport,
    *,
    motor: Motor = Motor(),
    decimal_mark: DecimalMark = ".",
) -> Picture:
    """From the left: tire, rim, gear, pinion and motor over the track, and the track once the tires are worn."""
    wheel, drive = build.rear.side(build.drive.side).wheel, build.drive
    tire, worn = float(wheel.tire_diameter.value) / 2, float(build.wear) / 2
    distance = float(drive.center_distance.value) if drive.center_distance else 0.0
    half = (motor.height or (2 * float(drive.below_axle.value) if drive.below_axle else 12.0)) / 2
    scale = 292 / (distance + half + tire)
    picture = Picture("end-view", _("Rear axle from the left, to scale"), 320)
    x, y = 14 + (distance + half) * scale, 14 + tire * scale
    ground = y + tire * scale
    if drive.center_distance is not None:
        shaft = x - distance * scale
        style = "motor" if motor.height else "guess"
        picture.rect(shaft - half * scale, y - half * scale, shaft + half * scale, y + half * scale, style)
    picture.circle(x, y, tire * scale, "tire")
    if worn:
        picture.circle(x, y, (tire - worn) * scale, "thin")
        picture.line(6, ground - worn * scale, 314, ground - worn * scale, "near")
    if wheel.rim_diameter is not None:
        picture.circle(x, y, float(wheel.rim_diameter.value) / 2 * scale, "dashed")
    gear = build.rear.side(drive.side).gear
    if gear is not None:
        picture.circle(x, y, float(gear.outside_diameter.value) / 2 * scale, "gear")
    if drive.center_distance is not None and drive.pinion is not None:
        picture.circle(x - distance * scale, y, float(drive.pinion.outside_diameter.value) / 2 * scale, "gear")
    picture.circle(x, y, 6, "axle")
    picture.line(6, ground, 314, ground, "ground")
    at = ground + 26
    for code, is_worn, words in (
        (FitCode.UNDER_SPUR, False, _("under the gear {size}")),
        (FitCode.UNDER_SPUR, True, _("with worn tires {size}")),
        (FitCode.UNDER_MOTOR, False, _("under the motor {size}")),
    ):
        finding = report.find(code, worn=is_worn)
        if finding is None:
            continue
        said = words.format(size=figure(finding.value, decimal_mark)) + _wrong(finding)
        picture.text(160, at, said, f"{_style(finding)} middle")
        picture.say(said)
        at += ROW
    picture.height = round(at - 8)
    return picture


# The pair of gears.


def gear_pair(pinion: SpurGear, driven: SpurGear, mesh: Mesh, *, decimal_mark: DecimalMark = ".") -> Picture:
    """Where both gears meet, with true teeth: the pinion whole, of the gear what has room; the line of action.

    Involute flanks: at radius r half a tooth covers the angle s / d + inv(alpha) - inv(alpha_r) (ISO 21771:2007).
    """
    picture = Picture("gear-pair", _("The pair of gears, true to scale"), WIDTH)
    distance = float(mesh.distance_mm)
    tips = [float(gear.outside_diameter_mm) / 2 for gear in (pinion, driven)]
    scale = min(320 / (2 * tips[0]), 320 / tips[1], 60.0)
    y = 14 + min(max(tips) * scale, 166.0)
    centers = 14 + tips[0] * scale, 14 + (tips[0] + distance) * scale
    action = _Action(pinion, driven, distance) if mesh.line is not None else None
    turn = action.turn_of_driven() if action else pi + pi / driven.teeth
    for gear, x, angle, style in ((pinion, centers[0], 0.0, "gear"), (driven, centers[1], turn, "gear second")):
        picture.path(((x + dx * scale, y + dy * scale) for dx, dy in outline(gear, angle)), style)
        for diameter, circle in (
            (gear.outside_diameter_mm, "thin"),
            (gear.pitch_diameter_mm, "pitch"),
            (gear.base_diameter_mm, "base"),
        ):
            picture.circle(x, y, float(diameter) / 2 * scale, circle)
        picture.circle(x, y, 4, "axle")
    picture.line(*(centers[0], y), *(centers[1], y), "middle")
    if action and not mesh.overlap_mm <= 0:
        ends = [(centers[0] + px_ * scale, y + py * scale) for px_, py in action.tangents]
        picture.line(*ends[0], *ends[1], "action")
        for at_x, at_y in action.contacts():
            picture.circle(centers[0] + at_x * scale, y + at_y * scale, 4.5, "contact")
    picture.height = round(2 * y)
    picture.say(
        _("pinion of {teeth} teeth").format(teeth=pinion.teeth),
        _("gear of {teeth} teeth").format(teeth=driven.teeth),
        _("{size} mm between centers").format(size=figure(mesh.distance_mm, decimal_mark)),
    )
    if mesh.overlap_mm <= 0:
        picture.say(_("the tips stand {size} mm apart").format(size=figure(-mesh.overlap_mm, decimal_mark)))
    return picture


def outline(gear: SpurGear, turn: float, steps: int = 6) -> Iterable[tuple[float, float]]:
    """Points round a gear in mm from its center, a tooth's middle at `turn` (radians, y down)."""
    root, tip = float(gear.root_diameter_mm) / 2, float(gear.outside_diameter_mm) / 2
    base = gear.base_diameter_mm / 2
    at_base = _half_angle(gear, base)
    start = max(base, root)
    radii = [start + (tip - start) * step / steps for step in range(steps + 1)]
    flank = [(radius, max(_half_angle(gear, radius), 0.0)) for radius in radii]
    if root < base:
        flank.insert(0, (root, at_base))
    for tooth in range(gear.teeth):
        middle = turn + 2 * pi * tooth / gear.teeth
        for radius, half in flank:
            yield radius * cos(middle - half), radius * sin(middle - half)
        for radius, half in reversed(flank):
            yield radius * cos(middle + half), radius * sin(middle + half)


def _half_angle(gear: SpurGear, radius: float) -> float:
    """Half of what a tooth covers at a radius, in radians."""
    alpha, pitch = float(gear.pressure_angle_deg) * pi / 180, float(gear.pitch_diameter_mm)
    here = acos(min(gear.base_diameter_mm / 2 / radius, 1.0))
    return gear.tooth_thickness_mm / pitch + involute(alpha) - involute(here)


class _Action:
    """The line along which flanks touch: tangent to both base circles. The pinion's center is the origin, y down.

    A tooth of the pinion has its middle on the line of centers. Along the line, from the pinion's tangent point on, a
    flank whose tooth stands at angle t touches at r_b (alpha' + half angle at the base + t).
    """

    def __init__(self, pinion: SpurGear, driven: SpurGear, distance: float) -> None:
        self.pinion, self.driven = pinion, driven
        self.bases = pinion.base_diameter_mm / 2, driven.base_diameter_mm / 2
        self.angle = acos(min(sum(self.bases) / distance, 1.0))
        self.tangents = (
            (self.bases[0] * cos(self.angle), -self.bases[0] * sin(self.angle)),
            (distance - self.bases[1] * cos(self.angle), self.bases[1] * sin(self.angle)),
        )
        self.length = hypot(*(b - a for a, b in zip(*self.tangents, strict=True)))

    def _along(self, tooth: int) -> float:
        turned = self.angle + _half_angle(self.pinion, self.bases[0]) + 2 * pi * tooth / self.pinion.teeth
        return self.bases[0] * turned

    def turn_of_driven(self) -> float:
        """Where a tooth of the driven gear stands whose flank touches the pinion's."""
        left_over = self.length - self._along(0)
        return left_over / self.bases[1] - _half_angle(self.driven, self.bases[1]) + pi - self.angle

    def contacts(self) -> list[tuple[float, float]]:
        """Where flanks touch now, between both tip circles and both tangent points."""
        tips = [float(gear.outside_diameter_mm) / 2 for gear in (self.pinion, self.driven)]
        reach = [sqrt(max(tip**2 - base**2, 0.0)) for tip, base in zip(tips, self.bases, strict=True)]
        first, last = max(self.length - reach[1], 0.0), min(reach[0], self.length)
        found = (self._along(tooth) for tooth in range(-self.pinion.teeth, self.pinion.teeth))
        x, y = self.tangents[0]
        return [(x + sin(self.angle) * one, y + cos(self.angle) * one) for one in found if first <= one <= last]


# The guide.


def guide_in_slot(build: Build, slot: Slot, *, decimal_mark: DecimalMark = ".") -> Picture | None:
    """Across the slot where it is shallowest: blade, floor, and what is left. None when a size is not known."""
    guide = build.guide
    if guide.blade_depth is None or guide.blade_thickness is None or slot.depth is None or slot.width is None:
        return None
    depth, thick = float(guide.blade_depth.value), float(guide.blade_thickness.value)
    deep, wide = float(slot.depth.value), float(slot.width.value)
    scale = 150 / max(depth, deep)
    picture = Picture("guide-slot", _("Guide in the slot, from behind, to scale"), 320)
    x, y = 160.0, 44.0
    floor = y + deep * scale
    half = wide / 2 * scale
    picture.path(
        [
            *((10, y), (x - half, y), (x - half, floor), (x + half, floor), (x + half, y), (310, y)),
            *((310, floor + 24), (10, floor + 24)),
        ],
        "hatch",
    )
    for way in (-1, 1):
        picture.line(x + way * (half + 4), y, x + way * (half + 52), y, "ground")
    blade = "gear" if depth < deep and thick < wide else "clash"
    picture.rect(x - thick / 2 * scale, y, x + thick / 2 * scale, y + depth * scale, blade)
    picture.rect(x - 44, y - 12, x + 44, y, "part")
    words = (
        _("blade {deep} deep, {thick} thick").format(
            deep=figure(depth, decimal_mark), thick=figure(thick, decimal_mark)
        ),
        _("{size} over the floor").format(size=figure(deep - depth, decimal_mark)),
        _("{size} of play in the slot").format(size=figure(wide - thick, decimal_mark)),
    )
    at = floor + 50
    for said in words:
        picture.text(160, at, said, "plain middle")
        at += ROW
    picture.say(*words)
    picture.height = round(at - 8)
    return picture
