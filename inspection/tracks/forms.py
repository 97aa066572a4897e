"""Text into a track, its layout, lanes and posts."""

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, Track, TrackLayout
from inspection.tracks.selectors import USUAL_NAMES, TrackPlan, plan_of, track_version, usual_colors
from inspection.tracks.services import LaneContent, LayoutContent, PostContent
from inspection.units import (
    MAX_TEXT,
    MESSAGES,
    Kind,
    UnitsError,
    as_unit,
    format_decimal,
    make_quantity,
    parse_quantity,
)

MOST_LANES = 16
MOST_POSTS = 24
MOST_SECTIONS = 120
# A row is read whether or not it differs from what the page showed; the name decides whether it is there.
_EVERY_ROW = {"empty_permitted": False}


class MeasureField(forms.Field):
    """One number with an optional unit, in any unit of the kind, kept as a decimal of `unit` with `places`.

    A bare number is in the unit the field shows: the club's where the kind has two systems.
    """

    widget = forms.TextInput

    def __init__(self, *, kind: Kind, unit: str, places: int, allow_negative: bool = False, **kwargs: Any) -> None:
        self.kind, self.unit, self.places, self.allow_negative = kind, unit, places, allow_negative
        self.shown_unit, self.decimal_mark = unit, "."
        super().__init__(**({"required": False} | kwargs))

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return super().widget_attrs(widget) | {
            "inputmode": "decimal",
            "class": "number",
            "autocomplete": "off",
            "maxlength": MAX_TEXT,
        }

    def to_python(self, value: Any) -> Decimal | None:
        text = str(value or "").strip()
        if not text:
            return None
        try:
            typed = parse_quantity(
                text,
                self.kind,
                default_unit=self.shown_unit,
                decimal_mark=self.decimal_mark,
                allow_negative=self.allow_negative,
            )
        except UnitsError as error:
            raise forms.ValidationError(_(MESSAGES[error.code]) % error.params, code=error.code) from error
        exact = typed.to(self.unit).magnitude
        step = Decimal(1).scaleb(-self.places)
        kept = (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(step, rounding=ROUND_HALF_EVEN)
        if abs(kept) >= 10**4:
            raise forms.ValidationError(_("That is more than a track has."), code="too_large")
        return kept

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, Decimal):
            return value
        shown = make_quantity(Fraction(value), as_unit(self.unit, self.kind)).to(self.shown_unit)
        places = self.places + (2 if self.shown_unit != self.unit else 0)
        text = format_decimal(shown.magnitude, places=places, decimal_mark=self.decimal_mark)
        return text.rstrip("0").rstrip(self.decimal_mark) if self.decimal_mark in text else text


class MeasuresForm(forms.Form):
    """A form whose measures are read and shown in the club's units, with its decimal mark."""

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.decimal_mark = club.decimal_mark
                if club.units == Club.Units.INCH and field.kind is Kind.LENGTH:
                    field.shown_unit = {"mm": "in", "m": "ft"}[field.unit]
                field.label = f"{field.label}, {field.shown_unit}"


class TrackForm(forms.Form):
    """A track's name."""

    name = forms.CharField(label=_("Name of the track"), max_length=80)


class TrackEditForm(TrackForm):
    """A track's name, and whether it is in use."""

    is_active = forms.BooleanField(label=_("In use"), required=False)
    version = forms.CharField(widget=forms.HiddenInput, required=False)

    @classmethod
    def of(cls, track: Track, data: Any = None) -> "TrackEditForm":
        """The form as the track stands."""
        return cls(data, initial={"name": track.name, "is_active": track.is_active, "version": track_version(track)})


class LaneOrderField(forms.CharField):
    """Lane numbers, parted by anything: 1 3 5 6 4 2."""

    def to_python(self, value: Any) -> tuple[int, ...]:
        text = super().to_python(value)
        words = text.replace(",", " ").replace(";", " ").replace("-", " ").split()
        if not all(word.isascii() and word.isdigit() and len(word) <= 3 for word in words):
            raise forms.ValidationError(_("Type the lane numbers with a blank between them, such as 1 3 5 6 4 2."))
        return tuple(int(word) for word in words)

    def prepare_value(self, value: Any) -> Any:
        return " ".join(str(number) for number in value) if isinstance(value, list | tuple) else value


class LayoutForm(MeasuresForm):
    """All of a layout but its lanes and posts."""

    change_note = forms.CharField(
        label=_("What changed"), max_length=300, required=False, help_text=_("So that a record can be understood.")
    )
    direction = forms.ChoiceField(label=_("Direction"), choices=TrackLayout.Direction.choices)
    divisor = forms.IntegerField(
        label=_("Sections a lap is divided into"),
        min_value=1,
        max_value=1000,
        initial=20,
        help_text=_("Part laps are read in these."),
    )
    lane_order = LaneOrderField(
        label=_("Usual lane order"),
        max_length=80,
        required=False,
        empty_value="",
        help_text=_("In the order drivers move through them. Leave empty for out on the odd lanes, back on the even."),
    )
    slot_depth_mm = MeasureField(
        label=_("Slot depth at the shallowest"),
        kind=Kind.LENGTH,
        unit="mm",
        places=3,
        help_text=_("The guide must fit."),
    )
    slot_width_mm = MeasureField(label=_("Slot width"), kind=Kind.LENGTH, unit="mm", places=3)
    lane_spacing_mm = MeasureField(label=_("Lane spacing, slot to slot"), kind=Kind.LENGTH, unit="mm", places=2)
    conductor_height_mm = MeasureField(
        label=_("Conductor against the surface"),
        kind=Kind.LENGTH,
        unit="mm",
        places=3,
        allow_negative=True,
        help_text=_("Minus when the braid or tape lies below the surface."),
    )
    surface = forms.CharField(label=_("Surface"), max_length=80, required=False)
    tire_treatment = forms.CharField(label=_("Tire treatment it allows"), max_length=200, required=False)
    positive_side = forms.ChoiceField(
        label=_("Positive conductor"), required=False, choices=[("", _("not known")), *TrackLayout.Side.choices]
    )
    hookup = forms.CharField(label=_("Driver station hook-up"), max_length=200, required=False)
    voltage_v = MeasureField(label=_("Voltage"), kind=Kind.VOLTAGE, unit="V", places=2)
    fuse_a = MeasureField(label=_("Fuse on each lane"), kind=Kind.CURRENT, unit="A", places=2)
    supply_a = MeasureField(label=_("Supply for each lane"), kind=Kind.CURRENT, unit="A", places=2)
    based_on = forms.IntegerField(widget=forms.HiddenInput, required=False)


class LaneForm(MeasuresForm):
    """One row: a row without a name and a length is not there."""

    number = forms.IntegerField(label=_("Number"), min_value=1, max_value=99, required=False)
    name = forms.CharField(label=_("Name"), max_length=30, required=False)
    color = forms.CharField(
        label=_("Color"),
        required=False,
        validators=[RegexValidator(r"^#[0-9a-fA-F]{6}$", _("Give a color as #rrggbb."))],
        widget=forms.TextInput(attrs={"type": "color"}),
    )
    length_m = MeasureField(label=_("Length"), kind=Kind.LENGTH, unit="m", places=3)
    offset_mm = MeasureField(label=_("From the middle"), kind=Kind.LENGTH, unit="mm", places=2, allow_negative=True)

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        measured = [given.get("length_m"), given.get("offset_mm")]
        if measured != [None, None] and not given.get("name"):
            self.add_error("name", _("Name the lane, or empty its row."))
        if given.get("name") and given.get("number") is None and "number" not in self.errors:
            self.add_error("number", _("Number the lane."))
        return given


class PostForm(forms.Form):
    """One row: a row without a name is not there."""

    number = forms.IntegerField(label=_("Number"), min_value=1, max_value=99, required=False)
    name = forms.CharField(label=_("Name"), max_length=40, required=False)
    adults_only = forms.BooleanField(label=_("Adults only"), required=False)

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if given.get("name") and given.get("number") is None and "number" not in self.errors:
            self.add_error("number", _("Number the post."))
        return given


class SectionForm(MeasuresForm):
    """One row: a straight by its length, or a curve by radius, angle and side. An empty row is not there."""

    length = MeasureField(label=_("Straight"), kind=Kind.LENGTH, unit="m", places=4)
    radius = MeasureField(label=_("Curve, radius"), kind=Kind.LENGTH, unit="mm", places=2)
    angle = MeasureField(label=_("Curve, degrees"), kind=Kind.ANGLE, unit="°", places=2)
    turn = forms.ChoiceField(
        label=_("Curve, to the"), required=False, choices=[("", ""), ("left", _("left")), ("right", _("right"))]
    )

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        curve = [given.get(name) for name in ("radius", "angle", "turn")]
        if given.get("length") is not None and any(curve):
            self.add_error("length", _("A section is a straight or a curve: empty one of them."))
        elif any(curve) and not self.errors:
            for name, value in zip(("radius", "angle", "turn"), curve, strict=True):
                if not value:
                    self.add_error(name, _("A curve has a radius, an angle and a side."))
        for name in ("length", "radius", "angle"):
            if given.get(name) == 0:
                self.add_error(name, _("More than 0, or empty."))
        return given

    @property
    def content(self) -> dict[str, str]:
        """The section as a layout keeps it; {} for an empty row."""
        given = self.cleaned_data
        if given.get("length") is not None:
            return {"length": f"{given['length'].normalize():f} m"}
        if given.get("radius") is None:
            return {}
        angle = f"{given['angle'].normalize():f}"
        return {"radius": f"{given['radius'].normalize():f} mm", "angle": angle, "turn": given["turn"]}


class LayoutForms:
    """The parts of the layout page as one: the layout, its lanes, its posts, its straights and curves.

    shown: the layout to start from; without one, a new track's six usual lanes and four posts.
    """

    def __init__(self, club: Club, shown: TrackLayout | None, data: Any = None) -> None:
        lanes, posts = (_rows_of(shown), _posts_of(shown)) if shown else (_usual_rows(), _usual_posts())
        self.shown = shown
        self.layout = LayoutForm(data, initial=_initial_of(shown), club=club)
        rows = _rows(LaneForm, lanes, MOST_LANES)
        self.lanes = rows(data, initial=lanes, prefix="lane", form_kwargs=_EVERY_ROW | {"club": club})
        sections = [_section_row(section) for section in shown.sections] if shown else []
        ways = _rows(SectionForm, sections, MOST_SECTIONS, extra=4)
        self.sections = ways(data, initial=sections, prefix="section", form_kwargs=_EVERY_ROW | {"club": club})
        self.posts = _rows(PostForm, posts, MOST_POSTS)(data, initial=posts, prefix="post", form_kwargs=_EVERY_ROW)

    def is_valid(self) -> bool:
        return all([self.layout.is_valid(), self.lanes.is_valid(), self.posts.is_valid(), self.sections.is_valid()])

    @property
    def based_on(self) -> int:
        return self.layout.cleaned_data["based_on"] or 0

    @property
    def plan(self) -> TrackPlan | None:
        """What follows from the straights and curves, as they are shown or as they are typed; None while they err."""
        if not self.layout.is_bound:
            return plan_of(self.shown.sections, self.shown.lanes.all()) if self.shown else None
        return plan_of(self.content.sections, self.content.lanes) if self.is_valid() else None

    @property
    def content(self) -> LayoutContent:
        plain = {name: value for name, value in self.layout.cleaned_data.items() if name != "based_on"}
        lanes = tuple(LaneContent(**row) for row in self._named(self.lanes))
        posts = tuple(PostContent(**row) for row in self._named(self.posts))
        sections = tuple(content for form in self.sections if (content := form.content))
        return LayoutContent(**plain, lanes=lanes, posts=posts, sections=sections)

    @staticmethod
    def _named(formset: Any) -> list[dict[str, Any]]:
        return [form.cleaned_data for form in formset if form.cleaned_data.get("name")]


def _rows(form: type[forms.Form], shown: list[dict[str, Any]], most: int, extra: int = 2) -> Any:
    """A formset whose rows all stand on one foot: blank ones follow those shown."""
    return forms.formset_factory(
        form, extra=extra, max_num=max(most, len(shown)), absolute_max=most + 8, validate_max=True
    )


def _initial_of(shown: TrackLayout | None) -> dict[str, Any]:
    if shown is None:
        return {"based_on": 0}
    names = [name for name in LayoutForm.base_fields if name not in {"change_note", "based_on"}]
    return {name: getattr(shown, name) for name in names} | {"based_on": shown.number}


def _rows_of(shown: TrackLayout) -> list[dict[str, Any]]:
    return list(shown.lanes.values("number", "name", "color", "length_m", "offset_mm"))


def _section_row(section: dict[str, str]) -> dict[str, Any]:
    if "length" in section:
        return {"length": _stored(section["length"], Kind.LENGTH, "m")}
    curve = {"radius": _stored(section["radius"], Kind.LENGTH, "mm"), "turn": section["turn"]}
    return curve | {"angle": _stored(section["angle"], Kind.ANGLE, "°")}


def _stored(text: str, kind: Kind, unit: str) -> Decimal:
    exact = parse_quantity(text, kind, default_unit=unit).to(unit).magnitude
    return Decimal(exact.numerator) / Decimal(exact.denominator)


def _posts_of(shown: TrackLayout) -> list[dict[str, Any]]:
    return list(shown.posts.values("number", "name", "adults_only"))


def _usual_rows() -> list[dict[str, Any]]:
    names = USUAL_NAMES[:6]
    colors = usual_colors(names)
    return [
        {"number": number, "name": name, "color": color}
        for number, (name, color) in enumerate(zip(names, colors, strict=True), start=1)
    ]


def _usual_posts() -> list[dict[str, Any]]:
    return [{"number": number, "name": ""} for number in range(1, 5)]
