"""Studies with every reading taken, for tests of what they find."""

from fractions import Fraction

from inspection.models import Gauge, GaugeStudy, StudyReading
from inspection.studies.selectors import order_of
from tests import factories
from tests.inspection.gaugestudy import aiag


def measured(study: GaugeStudy, value) -> GaugeStudy:
    """The study with a reading at every place: value(place) in the unit of its gauge."""
    for place in order_of(study):
        StudyReading.objects.create(
            study=study,
            part=place.part,
            inspector=place.inspector,
            trial=place.trial,
            reading=f"{float(value(place)):.2f} {study.gauge.unit}",
        )
    return study


def manual_study(gauge: Gauge, **fields) -> GaugeStudy:
    """The manual's crossed study in millimeters, three above its own zero, so that nothing is below 0."""
    values = aiag.crossed().values
    study = factories.gauge_study(
        gauge, parts=[f"Part {n}" for n in range(1, 11)], inspectors=["A", "B", "C"], trials=3, **fields
    )
    return measured(study, lambda place: values[place.inspector][place.part][place.trial] + 3)


def manual_bias_study(gauge: Gauge, **fields) -> GaugeStudy:
    """The manual's bias study in millimeters."""
    values = aiag.numbers(aiag.BIAS)
    bias = {"kind": "bias", "parts": ["6 mm"], "inspectors": ["A"], "trials": len(values), "reference": "6 mm"}
    study = factories.gauge_study(gauge, **(bias | fields))
    return measured(study, lambda place: Fraction(values[place.trial]))
