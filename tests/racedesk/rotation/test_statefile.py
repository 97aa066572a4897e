import json

import jsonschema
import pytest
from hypothesis import given

from racedesk.rotation.errors import StateFileError
from racedesk.rotation.redraw import State, redraw
from racedesk.rotation.statefile import document_of, read_state, schema_text
from tests.racedesk.rotation.test_redraw import nights

NIGHT = {
    "lanes": 3,
    "drivers": [1, 2, 3, 4],
    "joined": [7],
    "withdrawn": [2],
    "heats_run": [[1, 2, 3], [2, None, 4]],
    "again": [2],
    "planned": [[3, 4, 1]],
    "lanes_out": [3],
    "lanes_back": [{"lane": 2, "heat": 4}],
    "excused": [{"driver": 7, "lane": 1}],
    "not_before": [{"driver": 4, "heat": 4}],
    "not_after": [{"driver": 1, "heat": 9}],
    "apart": [[3, 4]],
    "rest": True,
    "rounds": 2,
}


def test_a_file_with_everything_in_it_is_the_state_of_that_night():
    state = read_state(json.dumps(NIGHT))

    assert state == State(
        lanes=3,
        drivers=(1, 2, 3, 4, 7),
        run=((1, 2, 3), (2, None, 4)),
        again=(2,),
        withdrawn=(2,),
        excused=((7, 1),),
        lanes_out=(3,),
        planned=((3, 4, 1),),
        lanes_back=((2, 4),),
        not_before=((4, 4),),
        not_after=((1, 9),),
        apart=((3, 4),),
        rest=True,
        rounds=2,
    )
    assert redraw(state).owed


def test_drivers_may_be_counted_instead_of_named():
    assert read_state('{"lanes": 2, "drivers": 3}') == State(lanes=2, drivers=(1, 2, 3))


@pytest.mark.parametrize("document", [NIGHT, {"lanes": 2, "drivers": 3}])
def test_what_is_read_keeps_the_schema(document):
    schema = json.loads(schema_text())
    jsonschema.Draft202012Validator.check_schema(schema)

    jsonschema.validate(document, schema)
    assert set(schema["properties"]) == set(NIGHT)


WRONG = [
    ({"lanes": "3"}, "lanes"),
    ({"lanes": True}, "lanes"),
    ({"lanes": 0}, "lanes"),
    ({"drivers": 501}, "drivers"),
    ({"drivers": [1, "x"]}, "drivers[1]"),
    ({"heats_run": 5}, "heats_run"),
    ({"heats_run": [3]}, "heats_run[0]"),
    ({"heats_run": [[1, 2, "a"]]}, "heats_run[0][2]"),
    ({"excused": [{"driver": 1}]}, "excused[0]"),
    ({"excused": [{"driver": 1, "lane": 0}]}, "excused[0].lane"),
    ({"apart": [[1]]}, "apart[0]"),
    ({"apart": [[1, None]]}, "apart[0][1]"),
    ({"rest": 1}, "rest"),
    ({"speed": 1}, "speed"),
]


@pytest.mark.parametrize(("change", "where"), WRONG)
def test_what_is_wrong_is_named_by_its_place_and_is_against_the_schema_too(change, where):
    with pytest.raises(StateFileError) as refusal:
        read_state(json.dumps(NIGHT | change))

    assert (refusal.value.code, refusal.value.params["where"]) == ("bad_state", where)
    assert str(refusal.value).startswith(where)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(NIGHT | change, json.loads(schema_text()))


@pytest.mark.parametrize("missing", ["lanes", "drivers"])
def test_lanes_and_drivers_must_be_given(missing):
    with pytest.raises(StateFileError, match=f"{missing} is to be given"):
        read_state(json.dumps({key: value for key, value in NIGHT.items() if key != missing}))


def test_who_joined_was_not_there_at_first():
    with pytest.raises(StateFileError, match="unlike 4"):
        read_state(json.dumps(NIGHT | {"joined": [4]}))


@pytest.mark.parametrize("text", ["", "{", b"\xff\xfe", "[" * 100_000])
def test_what_is_no_json_is_refused(text):
    with pytest.raises(StateFileError) as refusal:
        read_state(text)

    assert refusal.value.code == "not_json"


def test_a_list_is_no_night():
    with pytest.raises(StateFileError, match="the file is to be an object"):
        read_state("[]")


@given(state=nights(wishes=True))
def test_a_state_survives_its_document(state):
    document = document_of(state)

    jsonschema.validate(document, json.loads(schema_text()))
    assert read_state(json.dumps(document)) == state
