"""Text into a bench sheet: parts from the register or by their sizes, how they are mounted, and what is aimed at."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.benchsheets.selectors import MOUNTING, SheetContent, layouts_now, parts_by_place
from inspection.cars.selectors import LARGEST_NUMBER, next_free_number, owners_of
from inspection.chassis.forms import RowForm, SizeRow, as_typed, plain_rows, rows_of, size_field, usual_unit
from inspection.chassis.selectors import chassis_to_build_on
from inspection.gauges.selectors import read_typed, units_words
from inspection.models import Car, Chassis, Club, Driver, MotorUnit, RacingClass
from inspection.parts.selectors import part_document
from inspection.planning.register import (
    PART_KINDS,
    PART_SIZES,
    PLACE_LABELS,
    PLACES,
    SPACER_PLACES,
    PartKind,
    SizeSpec,
)
from inspection.units import Kind, UnitsError

OWN = "own"
MOST_SPACERS = 6
# What a builder starts from where nothing was measured: a flat blade at the pinion, and tires that will wear.
USUAL = {"pinion_gap": "0.7 mm", "wear": "0.5 mm"}
TARGETS = (
    SizeSpec(code="end_play_aim", label=_("End play aimed at")),
    SizeSpec(code="body_float", label=_("Body float, each side")),
    SizeSpec(code="tire_to_pinion", label=_("Tire to pinion")),
    SizeSpec(code="spur_to_chassis", label=_("Gear to chassis")),
    SizeSpec(code="guide_floor", label=_("Guide blade over the floor of the slot")),
    SizeSpec(code="clearance", label=_("Clearance over the track")),
    # These two are for the ballast; no size of the car follows from them.
    SizeSpec(code="total_mass", label=_("Weight, ready to race"), kind=Kind.MASS),
    SizeSpec(code="guide_share", label=_("Share of it on the guide, such as 35 %"), kind=Kind.RATIO),
)
BODY_AHEAD = SizeSpec(
    code="ahead",
    label=_("Rear axle to where the body balances"),
    help=_("For the weight on guide and rear axle."),
    may_be_negative=True,
)
# The places in the order of the work at the bench, with the mounting that goes with each.
SECTIONS: tuple[tuple[Any, tuple[str, ...], tuple[str, ...], tuple[str, ...]], ...] = (
    (_("Drive"), ("motor", "pinion", "driven_gear"), ("pinion_gap", "hub_side"), ()),
    (
        _("Rear axle"),
        ("rear_tires", "rear_wheels", "rear_axle"),
        ("rear_end_play", "rear_hub_to_hub", "edge", "wear"),
        ("rear_left_inner", "rear_left_outer", "rear_right_inner", "rear_right_outer"),
    ),
    (
        _("Guide"),
        ("guide", "braid", "lead_wire"),
        ("guide_height", "shaft_cut", "braid_cut"),
        ("guide",),
    ),
    (
        _("Front axle"),
        ("front_tires", "front_wheels", "front_axle"),
        ("front_end_play", "front_hub_to_hub"),
        ("front_left_inner", "front_right_inner"),
    ),
    (_("Body"), ("body",), (), ()),
)


class SpacersField(forms.CharField):
    """Spacers of one place as people say them, "0.5 + 0.2"; kept as a list of thicknesses."""

    def __init__(self, *, club: Club, **kwargs: Any) -> None:
        self.club = club
        attrs = {"class": "number", "autocomplete": "off", "spellcheck": "false", "list": "spacers"}
        super().__init__(required=False, max_length=80, widget=forms.TextInput(attrs=attrs), **kwargs)

    def to_python(self, value: Any) -> list[dict[str, str]]:
        text = super().to_python(value)
        rows = []
        for piece in filter(None, (one.strip() for one in text.replace(";", "+").split("+"))):
            unit = usual_unit(self.club, Kind.LENGTH)
            try:
                read = read_typed(piece, kind=Kind.LENGTH, unit=unit, decimal_mark=self.club.decimal_mark)
            except UnitsError as error:
                raise forms.ValidationError(units_words(error), code=error.code) from error
            if read.base:
                rows.append({"thickness": read.canonical})
        if len(rows) > MOST_SPACERS:
            raise forms.ValidationError(_now("That is more than fits on an axle."), code="too_many")
        return rows

    @staticmethod
    def typed(club: Club, rows: list[Mapping[str, str]]) -> str:
        spec = SizeSpec(code="thickness", label="")
        return " + ".join(as_typed(club, spec, row["thickness"]) for row in rows)


class BallastForm(RowForm):
    """A piece of ballast."""

    specs = (
        SizeSpec(code="name", label=_("What"), kind=None),
        SizeSpec(code="mass", label=_("Mass"), kind=Kind.MASS),
        SizeSpec(code="ahead", label=_("Ahead of the rear axle"), may_be_negative=True),
    )

    def clean(self) -> dict[str, Any]:
        self.needs("mass", "ahead")
        return super().clean()

    @property
    def plain(self) -> dict[str, str]:
        given = self.cleaned_data
        return {"name": given["name"] or _now("Ballast"), "mass": given["mass"], "ahead": given["ahead"]}


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """A place of the car: the choice of its part, and the fields that tell a part of no register."""

    label: str
    choice: forms.BoundField
    own: list[SizeRow]


class SheetForm(forms.Form):
    """A bench sheet. shown: what to start from, None for an empty sheet; everything may stay empty."""

    chassis = forms.ModelChoiceField(
        label=_("Chassis"),
        queryset=Chassis.objects.none(),
        required=False,
        to_field_name="public_id",
        empty_label=_("Choose the chassis"),
    )
    racing_class = forms.ModelChoiceField(
        label=_("For the class"), queryset=RacingClass.objects.none(), required=False, empty_label=_("No class yet")
    )
    track_layout = forms.ChoiceField(label=_("At the track"), required=False)
    motor_unit = forms.ModelChoiceField(
        label=_("Single motor, by its number"),
        queryset=MotorUnit.objects.none(),
        required=False,
        to_field_name="public_id",
        empty_label=_("Any of its kind"),
    )
    note = forms.CharField(label=_("Note"), max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    based_on = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=100_000)

    def __init__(self, data: Any = None, *, car: Car, shown: SheetContent | None, based_on: int) -> None:
        self.car, self.club = car, car.club
        self.by_place = parts_by_place(self.club, car.owner)
        self.layouts = {layout.public_id: layout for layout in layouts_now(self.club)}
        chassis = chassis_to_build_on(self.club, car.owner)
        if shown and shown.chassis:
            chassis = Chassis.objects.of(self.club).filter(Q(pk__in=chassis) | Q(pk=shown.chassis.pk)).order_by("name")
        content = self.shown = shown or self._from_nothing(list(chassis))
        super().__init__(data, initial=self._initial(content) | {"based_on": based_on})
        self.fields["chassis"].queryset = chassis
        self.fields["racing_class"].queryset = RacingClass.objects.of(self.club).order_by("-is_active", "name")
        self.fields["track_layout"].choices = [
            ("", _now("No track yet")),
            *((layout.public_id, str(layout.track)) for layout in self.layouts.values()),
        ]
        owners = Q(owner=None) | Q(owner=car.owner)
        motors = MotorUnit.objects.of(self.club).filter(owners, is_active=True).select_related("part")
        self.fields["motor_unit"].queryset = motors
        self._add_fields()
        self.ballast = rows_of(BallastForm, list(content.ballast), data, club=self.club, prefix="ballast")

    def _from_nothing(self, chassis: list[Chassis]) -> SheetContent:
        layouts = list(self.layouts.values())
        return SheetContent(
            chassis=chassis[0] if len(chassis) == 1 else None,
            racing_class=self.car.racing_class,
            track_layout=layouts[0] if layouts else None,
            mounting=USUAL,
        )

    def _initial(self, content: SheetContent) -> dict[str, Any]:
        """The fields as somebody of this club would type the content."""
        layout = content.track_layout
        initial: dict[str, Any] = {
            "chassis": content.chassis,
            "racing_class": content.racing_class,
            "track_layout": layout.public_id if layout else "",
            "motor_unit": content.motor_unit,
            "note": content.note,
        }
        if layout and layout.public_id not in self.layouts:
            self.layouts[layout.public_id] = layout
        for place, part in content.parts.items():
            known = {each.public_id for each in self.by_place.get(place, [])}
            is_known = part.get("part") in known
            initial[f"part-{place}"] = part["part"] if is_known else OWN
            if not is_known:
                initial |= self._own_initial(place, part)
        initial["body-ahead"] = as_typed(self.club, BODY_AHEAD, content.parts.get("body", {}).get("ahead", ""))
        for spec in (*MOUNTING.values(), *TARGETS):
            stored = (content.mounting | content.targets).get(spec.code, "")
            initial[f"set-{spec.code}"] = as_typed(self.club, spec, stored)
        for place in SPACER_PLACES:
            initial[f"spacer-{place}"] = SpacersField.typed(self.club, list(content.spacers.get(place, ())))
        return initial

    def _own_initial(self, place: str, part: Mapping[str, Any]) -> dict[str, str]:
        sizes = part.get("sizes", {})
        typed = {
            f"own-{place}-{spec.code}": as_typed(self.club, spec, sizes[spec.code])
            for spec in own_specs(place)
            if spec.code in sizes
        }
        return typed | {f"own-{place}-name": part.get("name", ""), f"own-{place}-kind": part.get("kind", "")}

    def _add_fields(self) -> None:
        for place, kinds in PLACES.items():
            parts = [(part.public_id, str(part)) for part in self.by_place.get(place, [])]
            choices = [("", _now("None yet")), *parts, (OWN, _now("Other: type its sizes"))]
            label = _now(PLACE_LABELS[place])
            self.fields[f"part-{place}"] = forms.ChoiceField(label=label, choices=choices, required=False)
            name = forms.CharField(label=_now("Name"), max_length=80, required=False)
            name.widget.attrs["autocomplete"] = "off"
            self.fields[f"own-{place}-name"] = name
            if len(kinds) > 1:
                told = [(kind.value, _now(PART_KINDS[kind])) for kind in kinds]
                self.fields[f"own-{place}-kind"] = forms.ChoiceField(label=_now("Kind"), choices=told, required=False)
            for spec in own_specs(place):
                self.fields[f"own-{place}-{spec.code}"] = size_field(spec, club=self.club)
        for spec in (*MOUNTING.values(), *TARGETS):
            more = {} if spec.choices else {"may_be_zero": True}
            self.fields[f"set-{spec.code}"] = size_field(spec, club=self.club, **more)
        self.fields["body-ahead"] = size_field(BODY_AHEAD, club=self.club)
        for place, label in SPACER_PLACES.items():
            self.fields[f"spacer-{place}"] = SpacersField(club=self.club, label=_now(label))

    def is_valid(self) -> bool:
        return all([super().is_valid(), self.ballast.is_valid()])

    # ---- what is typed, as far as it can be read -------------------------------------------------------------------

    @property
    def content(self) -> SheetContent:
        """Everything that can be read; what cannot is left out, so that the rest can be looked at."""
        given = self.cleaned_data
        read = {name: given.get(name) for name in ("chassis", "racing_class", "motor_unit")}
        parts = {place: part for place in PLACES if (part := self._part(place))}
        if "body" in parts and given.get("body-ahead"):
            parts["body"] |= {"ahead": given["body-ahead"]}
        if read["motor_unit"] and "motor" not in parts:
            parts["motor"] = part_document(read["motor_unit"].part)
        return SheetContent(
            **read,
            track_layout=self.layouts.get(given.get("track_layout", "")),
            parts=parts,
            mounting={code: text for code in MOUNTING if (text := given.get(f"set-{code}"))},
            targets={spec.code: text for spec in TARGETS if (text := given.get(f"set-{spec.code}"))},
            spacers={place: rows for place in SPACER_PLACES if (rows := given.get(f"spacer-{place}"))},
            ballast=plain_rows(self.ballast),
            note=given.get("note", ""),
        )

    def _part(self, place: str) -> dict[str, Any] | None:
        chosen = self.cleaned_data.get(f"part-{place}", "")
        for part in self.by_place.get(place, []):
            if part.public_id == chosen:
                return part_document(part)
        if chosen != OWN:
            return None
        kinds = PLACES[place]
        kind = PartKind(self.cleaned_data.get(f"own-{place}-kind") or kinds[0])
        allowed = {spec.code for spec in PART_SIZES[kind]}
        sizes = {
            spec.code: text
            for spec in own_specs(place)
            if spec.code in allowed and (text := self.cleaned_data.get(f"own-{place}-{spec.code}"))
        }
        name = self.cleaned_data.get(f"own-{place}-name", "")
        return {"name": name, "kind": kind.value, "sizes": sizes, "price": None} if name or sizes else None

    # ---- as rows of the page ---------------------------------------------------------------------------------------

    @property
    def sections(self) -> Iterator[tuple[Any, list[PlaceRow], list[SizeRow], list[SizeRow]]]:
        for title, places, mounting, spacers in SECTIONS:
            unit = usual_unit(self.club, Kind.LENGTH)
            yield (
                title,
                [self._place(place) for place in places],
                [self._row(f"set-{code}", MOUNTING[code]) for code in mounting]
                + ([self._row("body-ahead", BODY_AHEAD)] if "body" in places else []),
                [SizeRow(self[f"spacer-{place}"], unit) for place in spacers],
            )

    @property
    def targets(self) -> list[SizeRow]:
        return [self._row(f"set-{spec.code}", spec) for spec in TARGETS]

    def _place(self, place: str) -> PlaceRow:
        names = [f"own-{place}-name", *([f"own-{place}-kind"] if len(PLACES[place]) > 1 else [])]
        rows = [SizeRow(self[name], "") for name in names]
        rows += [self._row(f"own-{place}-{spec.code}", spec) for spec in own_specs(place)]
        return PlaceRow(_now(PLACE_LABELS[place]), self[f"part-{place}"], rows)

    def _row(self, name: str, spec: SizeSpec) -> SizeRow:
        return SizeRow(self[name], usual_unit(self.club, spec.kind))


def own_specs(place: str) -> list[SizeSpec]:
    """The sizes that tell a part of this place, of all kinds that fit there, each once."""
    by_code = {spec.code: spec for kind in PLACES[place] for spec in PART_SIZES[kind]}
    return list(by_code.values())


class StartForm(forms.Form):
    """The car to build: one of the register, or a new one with all that it needs."""

    car = forms.ModelChoiceField(
        label=_("Car"),
        queryset=Car.objects.none(),
        required=False,
        to_field_name="public_id",
        empty_label=_("A new car, named below"),
    )
    number = forms.IntegerField(
        label=_("Number"),
        min_value=0,
        max_value=LARGEST_NUMBER,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "number", "autocomplete": "off"}),
    )
    name = forms.CharField(
        label=_("Name"), max_length=80, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    owner = forms.ModelChoiceField(
        label=_("Owner"), queryset=Driver.objects.none(), required=False, empty_label=_("Choose the driver")
    )
    racing_class = forms.ModelChoiceField(
        label=_("Class"), queryset=RacingClass.objects.none(), required=False, empty_label=_("None yet")
    )

    def __init__(self, data: Any = None, *, club: Club) -> None:
        owners, classes = owners_of(club), RacingClass.objects.of(club).filter(is_active=True).order_by("name")
        initial: dict[str, Any] = {"number": next_free_number(club)}
        if len(found := list(classes[:2])) == 1:
            initial["racing_class"] = found[0]
        super().__init__(data, initial=initial)
        cars = Car.objects.of(club).filter(is_active=True).select_related("owner").order_by("number")
        self.fields["car"].queryset = cars
        self.fields["owner"].queryset, self.fields["racing_class"].queryset = owners, classes

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if given.get("car") is None:
            for name in ("number", "name", "owner"):
                if given.get(name) in {None, ""} and name not in self.errors:
                    self.add_error(name, _("A new car needs this."))
        return given

    @property
    def new_car(self) -> dict[str, Any]:
        """What a new car is told by."""
        return {name: self.cleaned_data[name] for name in ("number", "name", "owner", "racing_class")}
