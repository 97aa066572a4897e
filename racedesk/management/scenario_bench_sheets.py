"""The worked case at the bench of the invented club: a sidewinder whose usual gear does not reach, and its cure.

The first sheet has the small gear, the second the larger family, which reaches and whose tire rubs the pinion. On the
third the pinion is cut; taller tires and ballast make the car legal. Car, frame and sizes are of our own invention.
"""

from inspection.benchoutcomes.selectors import judged
from inspection.benchsheets.selectors import SheetContent, content_of, cured
from inspection.benchsheets.services import save_sheet
from inspection.benchwording.selectors import finding_key
from inspection.chassis.services import ChassisContent, create_chassis
from inspection.fit.findings import CureCode, FitCode
from inspection.models import BenchSheet, Chassis, Part
from inspection.parts.selectors import part_document
from inspection.tracks.selectors import current_layout
from racedesk.management.scenario_club import World

CAR = 9
FRAME = {
    "layout": "sidewinder", "gear_side": "right", "across_shafts": "14.24 mm", "motor_shaft": "2.00 mm",
    "axle_diameter": "2.38 mm", "rear_bushing_span": "30.0 mm", "rear_body_width": "62.4 mm",
    "front_bushing_span": "36.0 mm", "front_body_width": "61.0 mm", "end_bell": "13.0 mm", "wall": "15.0 mm",
    "motor_below_axle": "8.5 mm", "chassis_below_axle": "8.0 mm", "rear_axle_height": "8.0 mm",
    "front_axle_height": "7.0 mm", "wheelbase": "80 mm", "guide_ahead": "100 mm", "nose_ahead": "110 mm",
    "guide_holder": "7.0 mm", "mass": "21.4 g", "mass_ahead": "46 mm",
}  # fmt: skip
ZONES = [
    {"name": "ahead of the motor", "begin": "22 mm", "end": "40 mm", "most": "8 g"},
    {"name": "behind the guide", "begin": "70 mm", "end": "88 mm", "most": "5 g"},
]
PLACED = {
    "motor": "MOT-HERON-18", "pinion": "PIN-11-6.5", "rear_tires": "TIRE-200-10", "rear_wheels": "WHEEL-16-10",
    "rear_axle": "AXLE-57", "front_tires": "TIRE-180-9", "front_wheels": "WHEEL-16-9", "front_axle": "AXLE-57",
    "guide": "GUIDE-6", "braid": "BRAID-26", "body": "BODY-LIMPET",
}  # fmt: skip
MOUNTING = {
    "pinion_gap": "0.6 mm", "hub_side": "out", "rear_end_play": "0.3 mm", "front_end_play": "0.3 mm",
    "guide_height": "2.5 mm", "wear": "0.5 mm",
}  # fmt: skip
# In no drawer of the club: told by their sizes.
TALL_TIRES = {
    "name": "Rear tire 21.6 x 10, to be ordered",
    "kind": "tire",
    "sizes": {"diameter": "21.6 mm", "width": "10 mm", "rim_diameter": "16 mm", "mass": "2.2 g"},
    "price": None,
}
BALLAST = [
    {"name": "Beside the motor", "mass": "5 g", "ahead": "24 mm"},
    {"name": "Ahead of the motor", "mass": "5 g", "ahead": "34 mm"},
    {"name": "Behind the guide", "mass": "5 g", "ahead": "80 mm"},
]
SPACERS = {"rear_left_inner": [{"thickness": "5 mm"}], "rear_right_inner": [{"thickness": "0.5 mm"}]}


def build_at_the_bench(world: World) -> None:
    """Three sheets of one car, a week apart; the drawers are full by then."""
    by = world.users["inspector"]
    world.go_to(world.days_ago(82), "19:10")
    told = ChassisContent(name="Limpet frame, sidewinder", sizes=FRAME, zones=ZONES)
    frame = create_chassis(club=world.club, content=told, by=by)
    car = world.cars[CAR]
    small = save_sheet(car=car, content=_content(world, frame, "SPUR-33-17.5", "The gear that is usual here."), by=by)
    world.go_to(world.days_ago(75), "19:30")
    larger = content_of(small).replaced(parts=_parts(world, "SPUR-35-19.5"), note="The large family reaches.")
    rubbing = save_sheet(car=car, content=larger, by=by)
    world.go_to(world.days_ago(68), "20:05")
    cut = cured(rubbing, _key_of(rubbing, FitCode.TIRE_TO_PINION, CureCode.SHORTEN_PINION))
    legal = cut.replaced(
        parts={**cut.parts, "rear_tires": TALL_TIRES},
        ballast=BALLAST,
        note="Pinion cut to 6.2 mm, taller tires for the clearance, ballast for the weight.",
    )
    save_sheet(car=car, content=legal, by=by)


def _content(world: World, frame: Chassis, gear: str, note: str) -> SheetContent:
    return SheetContent(
        chassis=frame,
        racing_class=world.classes["gt"],
        track_layout=current_layout(world.track),
        parts=_parts(world, gear),
        mounting=MOUNTING,
        spacers=SPACERS,
        note=note,
    )


def _parts(world: World, gear: str) -> dict[str, dict[str, object]]:
    by_code = {part.code: part for part in Part.objects.of(world.club)}
    parts = {place: part_document(by_code[code]) for place, code in {**PLACED, "driven_gear": gear}.items()}
    parts["body"]["ahead"] = "44 mm"
    return parts


def _key_of(sheet: BenchSheet, code: FitCode, wanted: CureCode) -> str:
    """The cure of a finding of the sheet, as the page asks for it."""
    found = judged(sheet, {}).found
    finding = found.report.find(code) if found and found.report else None
    cures = finding.cures if finding else ()
    return next(finding_key(finding, cure) for cure in cures if finding and cure.code is wanted)
