"""A small sheet of rules of our own, for judging benches without a database."""

from inspection.conformity.clauses import Clause, Comparator
from inspection.conformity.sheet import Sheet
from inspection.conformity.subjects import CharacteristicKind, Derivation, DerivationForm, Subject
from inspection.units import Kind, base_unit, parse_quantity

KINDS = {
    "rear-tire-diameter": CharacteristicKind.LENGTH,
    "width-over-rear-tires": CharacteristicKind.LENGTH,
    "overall-width": CharacteristicKind.LENGTH,
    "ground-clearance": CharacteristicKind.LENGTH,
    "pinion-teeth": CharacteristicKind.COUNT,
    "driven-gear-teeth": CharacteristicKind.COUNT,
    "weight-ready-to-race": CharacteristicKind.MASS,
    "guide-blade-depth": CharacteristicKind.LENGTH,
    "motor-type": CharacteristicKind.CHOICE,
    "lights-working": CharacteristicKind.YES_NO,
}
REGISTER = {
    code: Subject(code=code, name=code, kind=kind, unit=base_unit(kind.quantity_kind) if kind.quantity_kind else None)
    for code, kind in KINDS.items()
} | {
    "gear-ratio": Subject(
        code="gear-ratio",
        name="gear-ratio",
        kind=CharacteristicKind.RATIO,
        derivation=Derivation(DerivationForm.RATIO, ("driven-gear-teeth", "pinion-teeth")),
    ),
}


def clause(number, code, comparator, text="", **limits):
    kind = REGISTER[code].kind
    quantities = {
        name: parse_quantity(limit, Kind(kind.value), default_unit=base_unit(Kind(kind.value)))
        for name, limit in limits.items()
        if name in {"lower", "upper", "nominal", "tolerance"}
    }
    rest = {name: value for name, value in limits.items() if name not in quantities}
    return Clause(
        number=str(number), text=text, characteristic=code, code=code, kind=kind, comparator=comparator,
        **quantities, **rest,
    )  # fmt: skip


AT_LEAST, AT_MOST, ONE_OF, YES_NO = Comparator.AT_LEAST, Comparator.AT_MOST, Comparator.ONE_OF, Comparator.YES_NO


def sheet(*clauses, **more):
    return Sheet(clauses=tuple(clauses), register=REGISTER, **more)


def usual():
    return sheet(
        clause(1, "rear-tire-diameter", AT_LEAST, lower="19 mm"),
        clause(2, "width-over-rear-tires", AT_MOST, upper="61 mm"),
        clause(3, "ground-clearance", AT_LEAST, lower="0.2 mm"),
        clause(4, "gear-ratio", AT_MOST, upper="3.5"),
        clause(5, "weight-ready-to-race", AT_LEAST, lower="71 g"),
        clause(6, "motor-type", ONE_OF, choices=("closed can", "long can")),
        clause(7, "lights-working", YES_NO, expected_answer=True),
    )
