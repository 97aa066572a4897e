"""The state of a night as a JSON file, for a re-draw without a database. Its schema is `data/state.schema.json`."""

import json
from collections.abc import Callable
from importlib import resources
from typing import Any, Final, TypeVar

from racedesk.rotation.errors import StateFileError
from racedesk.rotation.redraw import Heat, State

T = TypeVar("T")

_FIELDS: Final = {
    "lanes", "drivers", "heats_run", "again", "withdrawn", "joined", "lanes_out", "lanes_back", "excused", "planned",
    "not_before", "not_after", "apart", "rest", "rounds",
}  # fmt: skip


def schema_text() -> str:
    """The JSON Schema of the file, as text."""
    return resources.files("racedesk.rotation").joinpath("data/state.schema.json").read_text(encoding="utf-8")


def read_state(text: str | bytes) -> State:
    """The state that a file tells. Whether such a night can be is asked by `redraw`.

    drivers may be a number, n for 1 to n; joined ones come on top of them.
    Raises StateFileError, which names the place in the file.
    """
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise StateFileError("not_json", f"That is no JSON: {error}.") from error
    if not isinstance(document, dict):
        raise _wrong("the file", "an object")
    if unknown := sorted(set(document) - _FIELDS):
        raise _wrong(unknown[0], "a field of a state; see the schema")
    for name in ("lanes", "drivers"):
        if name not in document:
            raise _wrong(name, "given")
    lanes = _number(document["lanes"], "lanes")
    joined = _numbers(document, "joined")
    drivers = _drivers(document["drivers"])
    if both := set(joined) & set(drivers):
        raise _wrong("joined", f"drivers who were not there at first, unlike {min(both)}")
    rest = document.get("rest", False)
    if not isinstance(rest, bool):
        raise _wrong("rest", "true or false")
    return State(
        lanes=lanes,
        drivers=(*drivers, *joined),
        run=_list(document, "heats_run", _heat),
        again=_numbers(document, "again"),
        withdrawn=_numbers(document, "withdrawn"),
        excused=_list(document, "excused", _named("driver", "lane")),
        lanes_out=_numbers(document, "lanes_out"),
        planned=_list(document, "planned", _heat),
        lanes_back=_list(document, "lanes_back", _named("lane", "heat")),
        not_before=_list(document, "not_before", _named("driver", "heat")),
        not_after=_list(document, "not_after", _named("driver", "heat")),
        apart=_list(document, "apart", _pair),
        rest=rest,
        rounds=_number(document.get("rounds", 1), "rounds"),
    )


def document_of(state: State) -> dict[str, Any]:
    """A state as the document that `read_state` reads: plain JSON values, empty lists left out."""
    lists: dict[str, list[Any]] = {
        "drivers": list(state.drivers),
        "heats_run": [list(heat) for heat in state.run],
        "again": list(state.again),
        "withdrawn": list(state.withdrawn),
        "excused": [{"driver": driver, "lane": lane} for driver, lane in state.excused],
        "lanes_out": list(state.lanes_out),
        "planned": [list(heat) for heat in state.planned],
        "lanes_back": [{"lane": lane, "heat": heat} for lane, heat in state.lanes_back],
        "not_before": [{"driver": driver, "heat": heat} for driver, heat in state.not_before],
        "not_after": [{"driver": driver, "heat": heat} for driver, heat in state.not_after],
        "apart": [list(pair) for pair in state.apart],
    }
    kept: dict[str, Any] = {name: values for name, values in lists.items() if values or name == "drivers"}
    if state.rest:
        kept["rest"] = True
    if state.rounds > 1:
        kept["rounds"] = state.rounds
    return {"lanes": state.lanes, **kept}


def _wrong(where: str, what: str) -> StateFileError:
    return StateFileError("bad_state", f"{where} is to be {what}.", where=where)


def _number(value: object, where: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 1_000_000:
        raise _wrong(where, "a whole number from 1 on")
    return value


def _drivers(value: object) -> tuple[int, ...]:
    if isinstance(value, list):
        return tuple(_number(item, f"drivers[{place}]") for place, item in enumerate(value))
    most = _number(value, "drivers")
    if most > 500:
        raise _wrong("drivers", "at most 500")
    return tuple(range(1, most + 1))


def _list(document: dict[str, object], name: str, read: Callable[[object, str], T]) -> tuple[T, ...]:
    value = document.get(name, [])
    if not isinstance(value, list):
        raise _wrong(name, "a list")
    return tuple(read(item, f"{name}[{place}]") for place, item in enumerate(value))


def _numbers(document: dict[str, object], name: str) -> tuple[int, ...]:
    return _list(document, name, _number)


def _heat(value: object, where: str) -> Heat:
    if not isinstance(value, list):
        raise _wrong(where, "a list with a driver or null a lane")
    return tuple(None if item is None else _number(item, f"{where}[{place}]") for place, item in enumerate(value))


def _pair(value: object, where: str) -> tuple[int, int]:
    if not isinstance(value, list) or len(value) != 2:
        raise _wrong(where, "a list of two drivers")
    return _number(value[0], f"{where}[0]"), _number(value[1], f"{where}[1]")


def _named(first: str, second: str) -> Callable[[object, str], tuple[int, int]]:
    def read(value: object, where: str) -> tuple[int, int]:
        if not isinstance(value, dict) or set(value) != {first, second}:
            raise _wrong(where, f"an object with {first} and {second}")
        return _number(value[first], f"{where}.{first}"), _number(value[second], f"{where}.{second}")

    return read
