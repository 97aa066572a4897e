"""A bench of our own as a document: the car of the fit engine's worked case, told in texts."""

import copy

DOCUMENT = {
    "within": {"length": "0 mm", "mass": "0 g"},
    "chassis": {
        "name": "Our sidewinder",
        "sizes": {
            "layout": "sidewinder",
            "gear_side": "right",
            "across_shafts": "14.24 mm",
            "motor_shaft": "2.00 mm",
            "axle_diameter": "2.38 mm",
            "rear_bushing_span": "30 mm",
            "front_bushing_span": "40 mm",
            "rear_body_width": "62.4 mm",
            "front_body_width": "62 mm",
            "end_bell": "13 mm",
            "wall": "15 mm",
            "motor_below_axle": "8.5 mm",
            "chassis_below_axle": "8 mm",
            "rear_axle_height": "8 mm",
            "front_axle_height": "7 mm",
            "wheelbase": "80 mm",
            "guide_ahead": "100 mm",
            "nose_ahead": "110 mm",
            "guide_holder": "7 mm",
            "lead_exit_back": "30 mm",
            "lead_routed": "60 mm",
            "mass": "18 g",
            "mass_ahead": "50 mm",
        },
    },
    "parts": {
        "motor": {
            "name": "Motor A",
            "sizes": {
                "motor_class": "closed can",
                "no_load_speed": "20000 rpm",
                "no_load_current": "0.2 A",
                "at_voltage": "12 V",
                "resistance": "6 ohm",
                "mass": "17 g",
            },
        },
        "pinion": {
            "name": "Pinion 11",
            "sizes": {
                "teeth": "11",
                "module": "0.5 mm",
                "outside_diameter": "6.5 mm",
                "length": "7 mm",
                "mass": "0.6 g",
            },
        },
        "driven_gear": {
            "name": "Gear 37",
            "kind": "spur_gear",
            "sizes": {
                "teeth": "37",
                "outside_diameter": "19.5 mm",
                "face_width": "2 mm",
                "hub_width": "2.5 mm",
                "mass": "2 g",
            },
        },
        "rear_tires": {"name": "Tires 200", "sizes": {"diameter": "20 mm", "width": "10 mm", "mass": "4 g"}},
        "rear_wheels": {
            "name": "Wheels 16",
            "sizes": {"rim_diameter": "16 mm", "inset": "0 mm", "hub_length": "8 mm", "mass": "5 g"},
        },
        "rear_axle": {"name": "Axle 57", "sizes": {"length": "57 mm", "diameter": "2.38 mm", "mass": "2 g"}},
        "front_tires": {"name": "Front tires", "sizes": {"diameter": "18 mm", "width": "6 mm", "mass": "2 g"}},
        "front_wheels": {"name": "Front wheels", "sizes": {"inset": "0 mm", "hub_length": "6 mm", "mass": "2 g"}},
        "front_axle": {"name": "Front axle", "sizes": {"length": "53 mm", "mass": "1.5 g"}},
        "guide": {
            "name": "Guide",
            "sizes": {
                "blade_depth": "6 mm",
                "blade_thickness": "2.6 mm",
                "blade_length": "22 mm",
                "shaft_length": "12 mm",
                "clip": "2 mm",
                "mass": "1.4 g",
            },
        },
        "lead_wire": {"name": "Wire", "sizes": {"length": "110 mm", "mass": "1 g"}, "ahead": "60 mm"},
        "body": {"name": "Coupe", "sizes": {"mass": "15 g"}, "ahead": "45 mm"},
    },
    "mounting": {
        "pinion_gap": "0.6 mm",
        "hub_side": "out",
        "rear_end_play": "0.3 mm",
        "front_end_play": "0.3 mm",
        "guide_height": "2.5 mm",
    },
    "spacers": {
        "rear_left_inner": [{"thickness": "5 mm"}],
        "rear_right_inner": [{"thickness": "0.5 mm"}],
        "guide": [{"thickness": "0.5 mm"}],
    },
    "track": {
        "name": "Oval",
        "slot_depth_mm": "7 mm",
        "slot_width_mm": "3.1 mm",
        "voltage_v": "12 V",
        "sections": [
            {"length": "2.4 m"},
            {"radius": "400 mm", "angle": "180", "turn": "left"},
            {"length": "2.4 m"},
            {"radius": "400 mm", "angle": "180", "turn": "left"},
        ],
        "lanes": [
            {"number": 1, "name": "red", "offset": "50 mm"},
            {"number": 2, "name": "blue", "offset": "-50 mm"},
        ],
    },
}


def document(**changes):
    """The document with some of its sections changed, one level deep."""
    made = copy.deepcopy(DOCUMENT)
    for name, value in changes.items():
        made[name] = {**made[name], **value} if isinstance(made.get(name), dict) else value
    return made


def without(path):
    """The document without the value at a path such as "parts.rear_tires.sizes.width"."""
    made = document()
    *way, last = path.split(".")
    here = made
    for name in way:
        here = here[name]
    del here[last]
    return made


def with_value(path, value):
    made = document()
    *way, last = path.split(".")
    here = made
    for name in way:
        here = here.setdefault(name, {})
    here[last] = value
    return made
