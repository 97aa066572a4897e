import pytest

from inspection.benchoutcomes.selectors import document_of
from inspection.benchsheets.selectors import sheets_of
from inspection.fit.findings import FitCode, Place
from inspection.models import MotorUnit, Part, PrepTemplate
from inspection.planning.document import read_bench
from inspection.planning.evaluation import evaluate
from inspection.prepsheets.selectors import (
    AT_THE_END,
    CAUTIONS,
    PLACEHOLDERS,
    WHEN,
    StepContent,
    filled,
    holds,
    prep_of,
    steps_for,
    supplied_steps,
    template_for,
    texts_of,
    unknown_in,
)
from tests import factories
from tests.inspection.prepsheets.prep_case import MOUNTING, PARTS, SIZES, sheet_of


@pytest.fixture
def car(db):
    return factories.car(factories.club())


def plain(pieces):
    return "".join("____" if piece.is_line else piece.text for piece in pieces)


def texts(prep):
    return {plain(step.title): plain(step.text) for step in prep.steps}


# What comes supplied.


def test_the_supplied_steps_stand_in_working_order():
    order = [step.supplied for step in supplied_steps()]
    wanted = [
        "magnet-out", "plug-out", "rear-axle-out", "motor-out", "wires-marked", "edges-relieved", "pinion-on",
        "bushings-in", "spur-set", "tires-trued", "guide-in", "braid-on", "run-in", "forward", "ready",
    ]  # fmt: skip

    assert [name for name in order if name in wanted] == wanted
    assert order[-2:] == ["forward", "ready"]


def test_the_supplied_steps_ask_only_for_what_there_is_and_say_each_thing_once():
    steps = supplied_steps()

    assert [unknown_in(texts_of(step)) for step in steps] == [[]] * len(steps)
    assert len({step.supplied for step in steps}) == len({step.title for step in steps}) == len(steps)
    assert {step.when for step in steps} <= set(WHEN)


def test_every_kind_of_caution_stands_at_a_step():
    at_steps = {step.caution for step in supplied_steps()} - {""}

    assert at_steps == set(CAUTIONS) - {"children"}  # children stand at the head of the sheet


def test_magnet_and_digital_plug_come_out_only_if_the_class_asks():
    assert {step.when for step in supplied_steps() if step.supplied in {"magnet-out", "plug-out"}} == {"class_asks"}


def test_the_checks_that_every_car_needs_are_looked_at_last():
    last = supplied_steps()[-1]

    assert last.when == AT_THE_END
    assert last.checks == (
        "Axle spins free", "Gear runs true, in the middle of the pinion", "Nothing touches",
        "Body moves freely on its screws", "Wires clear at full steer",
    )  # fmt: skip


# What a text asks for.


@pytest.mark.parametrize(
    ("text", "odd"),
    [
        ("Set {pinion_gap} with { spur } teeth", []),
        ("Set {pinion_gab} and {Spur}", ["{pinion_gab}", "{Spur}"]),
        ("Half a {pinion_gap", ["{"]),
        ("{}", ["{}"]),
        ("No braces at all", []),
    ],
)
def test_what_no_bench_sheet_has_is_found(text, odd):
    assert unknown_in([text]) == odd


def test_what_is_not_known_is_a_line_and_never_a_guess():
    pieces = filled("Gap {pinion_gap}, {spur} teeth.", {"spur": "35"})

    assert plain(pieces) == "Gap ____, 35 teeth."
    assert [piece.is_value for piece in pieces] == [False, True, False, True, False]


# When a step holds.


@pytest.mark.parametrize(
    ("when", "sizes", "parts", "wanted"),
    [
        ("always", {}, {}, True),
        ("class_asks", {}, {}, None),
        ("inline", {"layout": "inline"}, {}, True),
        ("inline", {"layout": "sidewinder"}, {}, False),
        ("inline", {}, {}, None),
        ("crown_gear", {"layout": "inline"}, {}, True),
        ("spur_gear", {}, {"driven_gear": {"kind": "spur_gear"}}, True),
        ("crown_gear", {}, {"driven_gear": {"kind": "spur_gear"}}, False),
        ("spur_gear", {}, {}, None),
        ("lead_wire", {}, {"lead_wire": {"name": "wire"}}, True),
        ("lead_wire", {}, {}, None),
        ("ballast", {}, {}, False),
    ],
)
def test_a_step_holds_where_the_sheet_says_so(car, when, sizes, parts, wanted):
    assert holds(when, factories.bench_sheet(car, chassis_sizes=sizes, parts=parts)) is wanted


def test_ballast_is_placed_where_the_sheet_has_any(car):
    sheet = factories.bench_sheet(car, ballast=[{"name": "Lead", "mass": "5 g", "ahead": "40 mm"}])

    assert holds("ballast", sheet) is True
    assert "Lead 5 g, 40 mm ahead of the rear axle" in texts(prep_of(sheet, None))["Ballast in"]


def test_steps_that_do_not_hold_are_left_out_and_the_rest_is_numbered_through(car):
    steps = [StepContent(title="A"), StepContent(title="B", when="inline"), StepContent(title="C", when="class_asks")]

    work, _end = steps_for(factories.bench_sheet(car, chassis_sizes={"layout": "sidewinder"}), steps, {})

    assert [(step.number, plain(step.title), step.condition) for step in work] == [
        (1, "A", ""), (2, "C", "Only if the class asks for it"),
    ]  # fmt: skip


# A sheet with its figures.


def test_the_work_order_carries_what_the_sheet_says_and_what_was_worked_out(car):
    said = texts(prep_of(sheet_of(car), None))

    assert "pinion of 11 teeth" in said["Pinion pressed on"]
    assert "a gap of 0.60 mm" in said["Pinion pressed on"]
    assert said["Spur gear set"].startswith("Gear of 35 teeth, hub outward.")
    assert "rear left, beside the bushing 5 mm + 0.5 mm." in said["Spur gear set"]
    assert "true them to 20.00 mm" in said["Tires trued"]
    assert "Positive conductor: right of the slot" in said["Last: it rolls forward"]
    # holder 7 + washer 0.3 + clip 1.5
    assert "Cut the shaft to 8.80 mm" in said["Guide in"]
    # blade 20 and a little that is trimmed: 2, common practice
    assert "Cut each braid to 22.00 mm" in said["Braid on"]


def test_the_crown_gear_step_is_not_for_a_sidewinder(car):
    said = texts(prep_of(sheet_of(car), None))

    assert "Spur gear set" in said
    assert "Crown gear set" not in said


def test_a_sheet_that_says_nothing_prints_lines(car):
    prep = prep_of(factories.bench_sheet(car), None)

    assert "pinion of ____ teeth" in texts(prep)["Pinion pressed on"]
    assert "Cut the shaft to ____" in texts(prep)["Guide in"]
    assert "a gap of 0.50 to 1.00 mm" in texts(prep)["Pinion pressed on"]
    assert texts(prep)["Last: it rolls forward"].startswith(
        "Set it on the track with little power. Positive conductor: ____."
    )
    assert {one.what: one.value for one in prep.settings}["Pinion to the motor's end"] == ""


def test_a_length_that_the_sheet_sets_outranks_the_one_worked_out(car):
    said = texts(prep_of(sheet_of(car, mounting={"shaft_cut": "9.2 mm"}), None))

    assert "Cut the shaft to 9.20 mm" in said["Guide in"]


def test_a_club_in_inches_with_a_comma_reads_its_own_figures(db):
    car = factories.car(factories.club(units="in", decimal_mark=","))

    said = texts(prep_of(sheet_of(car), None))

    assert "true them to 0,787 in" in said["Tires trued"]


def test_settings_stand_beside_what_is_wanted(car):
    settings = {one.what: (one.value, one.aim) for one in prep_of(sheet_of(car), None).settings}

    assert settings["Pinion to the motor's end"] == ("0.60 mm", "0.50 to 1.00 mm")
    assert settings["Ratio"] == ("3.182", "")
    assert settings["End play, rear axle"] == ("", "0.20 to 0.50 mm")


def test_what_does_not_fit_by_calculation_is_said_first(car):
    long = PARTS["pinion"] | {"sizes": PARTS["pinion"]["sizes"] | {"length": "8 mm"}}
    prep = prep_of(sheet_of(car, parts=PARTS | {"pinion": long}), None)

    assert any(point.startswith("Tire to pinion") for point in prep.open_points)


# Which template.


def made(club, name, **fields):
    return PrepTemplate.objects.create(club=club, name=name, steps=[{"title": "Only this"}], **fields)


def test_the_template_of_the_class_outranks_the_one_for_all(car):
    of_class = factories.racing_class(car.club)
    for_all, own = made(car.club, "All"), made(car.club, "Own", racing_class=of_class)
    made(car.club, "Away", racing_class=of_class, is_active=False)
    sheet, other = factories.bench_sheet(car, racing_class=of_class), factories.bench_sheet(car)

    assert template_for(sheet, [for_all, own]) == own
    assert template_for(other, [for_all, own]) == for_all
    assert template_for(other, [own]) is None


def test_a_clubs_own_steps_are_printed(car):
    prep = prep_of(factories.bench_sheet(car), made(car.club, "All"))

    assert list(texts(prep)) == ["Only this"]


def test_every_placeholder_is_filled_by_some_sheet(car):
    layout = factories.track_layout(car.club, positive_side="right", voltage_v=12)
    told = sheet_of(
        car,
        track_layout=layout,
        motor_unit=motor_of(car),
        mounting=MOUNTING | {"guide_height": "1 mm", "rear_hub_to_hub": "40 mm"},
        spacers={"rear_left_inner": [{"thickness": "5 mm"}], "front_left_inner": [{"thickness": "1 mm"}]},
        parts=PARTS | {"front_tires": {"kind": "tire", "name": "Front", "sizes": {"diameter": "17 mm"}}},
        ballast=[{"name": "Lead", "mass": "5 g", "ahead": "40 mm"}],
        chassis_sizes=SIZES | {"mass": "20 g"} | dict.fromkeys(
            ("lead_exit_back", "lead_exit_side", "lead_routed", "guide_ahead"), "20 mm"
        ),
    )  # fmt: skip
    step = StepContent(title="All", text=" ".join(f"{{{name}}}" for name in PLACEHOLDERS))
    template = PrepTemplate(club=car.club, name="All", steps=[{"title": step.title, "text": step.text}])

    (only,) = prep_of(sheets_of(car.club).get(pk=told.pk), template).steps

    said = [piece.text for piece in only.text if piece.is_value]
    assert [name for name, text in zip(PLACEHOLDERS, said, strict=True) if not text] == ["line"]


def motor_of(car):
    part = Part.objects.create(club=car.club, code="M", kind="motor", name="Motor")
    return MotorUnit.objects.create(club=car.club, part=part, number="M7")


def test_the_width_over_the_rear_tires_is_that_of_the_rear_axle(car):
    """Wider than the front: of two widths the paper once told the lesser."""
    parts = PARTS | {
        "front_tires": {"name": "Tire 18 x 9", "kind": "tire", "sizes": {"diameter": "18 mm", "width": "9 mm"}},
        "front_wheels": {"name": "Wheel 9", "kind": "wheel", "sizes": {"rim_diameter": "11 mm", "hub_length": "7 mm"}},
    }
    sizes = SIZES | {"front_bushing_span": "28 mm"}
    mounting = MOUNTING | {"rear_end_play": "0.3 mm", "front_end_play": "0.3 mm"}
    sheet = sheet_of(car, parts=parts, chassis_sizes=sizes, mounting=mounting)

    report = evaluate(read_bench(document_of(sheet)), cures=False).report
    settings = {one.what: one.value for one in prep_of(sheet, None).settings}

    rear, front = report.find(FitCode.WIDTH, Place.REAR), report.find(FitCode.WIDTH, Place.FRONT)
    assert rear.value > front.value
    assert settings["Over the rear tires"] == f"{float(rear.value):.2f} mm"
