"""A car on the bench with sizes of its own: a sidewinder whose cuts can be worked out."""

from decimal import Decimal

from tests import factories

SIZES = {
    "layout": "sidewinder", "gear_side": "right", "center_distance": "12.05 mm", "rear_bushing_span": "30 mm",
    "guide_holder": "7 mm", "rear_body_width": "62.4 mm", "end_bell": "13 mm",
}  # fmt: skip
PARTS = {
    "motor": {"name": "Motor with a long can", "kind": "motor", "sizes": {}},
    "pinion": {"name": "Pinion 11", "kind": "pinion", "sizes": {
        "teeth": "11", "outside_diameter": "6.5 mm", "module": "0.5 mm", "length": "5 mm"}},
    "driven_gear": {"name": "Spur 35", "kind": "spur_gear", "sizes": {
        "teeth": "35", "outside_diameter": "19.5 mm", "face_width": "2 mm", "hub_width": "2.5 mm"}},
    "rear_tires": {"name": "Tire 20 x 10", "kind": "tire", "sizes": {"diameter": "20 mm", "width": "10 mm"}},
    "rear_wheels": {"name": "Wheel 11", "kind": "wheel", "sizes": {"rim_diameter": "11 mm", "hub_length": "8 mm"}},
    "guide": {"name": "Guide 6", "kind": "guide", "sizes": {
        "blade_depth": "6 mm", "blade_length": "20 mm", "shaft_length": "12 mm", "clip": "1.5 mm"}},
    "braid": {"name": "Braid", "kind": "braid", "sizes": {}},
    "lead_wire": {"name": "Soft wire", "kind": "lead_wire", "sizes": {}},
}  # fmt: skip
MOUNTING = {"pinion_gap": "0.6 mm", "hub_side": "out", "edge": "0.5 mm"}
SPACERS = {"rear_left_inner": [{"thickness": "5 mm"}, {"thickness": "0.5 mm"}], "guide": [{"thickness": "0.3 mm"}]}


def sheet_of(car, **changes):
    layout = changes.pop("track_layout", None) or factories.track_layout(
        car.club, positive_side="right", slot_depth_mm=Decimal("6.5")
    )
    told = {"chassis_sizes": SIZES, "parts": PARTS, "mounting": MOUNTING, "spacers": SPACERS, "track_layout": layout}
    return factories.bench_sheet(car, **(told | changes))
