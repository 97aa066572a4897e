"""Heat events go into a row and come back as they were; a row that was tampered with is refused."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.timing.errors import ClockError
from racedesk.timing.events import (
    LANE_KINDS,
    PAYLOADS,
    Countdown,
    EventKind,
    HeatEvent,
    Nothing,
    Reason,
    TrackCallFacts,
    TypedLaps,
    data_of,
    event_of,
)
from racedesk.timing.laps import LapCount

PAYLOAD_EXAMPLES = {
    Nothing: st.just(Nothing()),
    Countdown: st.builds(Countdown, st.none() | st.integers(0, 60_000)),
    TrackCallFacts: st.builds(TrackCallFacts, st.text(), st.text()),
    Reason: st.builds(Reason, st.text().map(lambda text: f"because {text}")),
    TypedLaps: st.builds(
        TypedLaps,
        st.builds(LapCount, st.integers(0, 500), st.integers(0, 19), st.just(20)),
        st.text(),
        st.text().map(lambda text: f"because {text}"),
    ),
}


@st.composite
def events(draw):
    kind = draw(st.sampled_from(EventKind))
    lane = draw(st.integers(1, 8)) if kind in LANE_KINDS else None
    payload = draw(PAYLOAD_EXAMPLES[PAYLOADS[kind]])
    return HeatEvent(draw(st.integers(1, 99)), kind, draw(st.integers(0, 2**42)), lane, payload)


@given(events())
def test_an_event_comes_back_from_its_row_as_it_was(event):
    data = json.loads(json.dumps(data_of(event.payload)))
    back = event_of(number=event.number, kind=str(event.kind), at_ms=event.at_ms, lane=event.lane, data=data)
    assert back == event
    assert data_of(back.payload) == data_of(event.payload)


def test_part_laps_are_stored_as_whole_sections_with_their_divisor():
    typed = TypedLaps(LapCount(18, 9, 20), "18.45")
    assert data_of(typed) == {"laps": 18, "sections": 9, "divisor": 20, "text": "18.45"}


@pytest.mark.parametrize("kind", [kind for kind in EventKind if kind not in LANE_KINDS | {EventKind.VOID}])
def test_an_event_without_a_payload_has_the_default_one(kind):
    event = HeatEvent(1, kind, 0)
    assert event.payload == PAYLOADS[kind]()
    assert data_of(event.payload) == {}


@pytest.mark.parametrize(
    ("kind", "lane", "data", "code"),
    [
        ("restart", None, {}, "kind_unknown"),
        ("start", None, {"countdown_ms": "3"}, "payload_wrong"),
        ("start", None, {"countdown_ms": True}, "payload_wrong"),
        ("start", None, {"countdown_ms": -1}, "bad_countdown"),
        ("call_track", None, {"ground": 3}, "payload_wrong"),
        ("void", None, {}, "reason_missing"),
        ("void", 1, {"reason": "x"}, "lane_not_expected"),
        ("laps_entered", 1, {}, "payload_wrong"),
        ("laps_entered", 1, {"laps": 1, "sections": 20, "divisor": 20}, "payload_wrong"),
        ("laps_entered", 1, {"laps": -1, "sections": 0, "divisor": 20}, "payload_wrong"),
        ("laps_entered", 1, {"laps": 1.5, "sections": 0, "divisor": 20}, "payload_wrong"),
        ("laps_entered", None, {"laps": 1, "sections": 0, "divisor": 20}, "lane_missing"),
        ("laps_corrected", 1, {"laps": 1, "sections": 0, "divisor": 20}, "reason_missing"),
        ("lane_out", 1, {}, "reason_missing"),
    ],
)
def test_a_row_that_makes_no_event_is_refused(kind, lane, data, code):
    with pytest.raises(ClockError) as refused:
        event_of(number=1, kind=kind, at_ms=0, lane=lane, data=data)
    assert refused.value.code == code


def test_a_payload_of_another_kind_is_refused():
    with pytest.raises(ClockError) as refused:
        HeatEvent(1, EventKind.READY, 0, None, Reason("x"))
    assert refused.value.code == "payload_wrong"
    with pytest.raises(ClockError) as refused:
        HeatEvent(1, EventKind.LAPS_ENTERED, 0, 1)
    assert refused.value.code == "payload_wrong"
