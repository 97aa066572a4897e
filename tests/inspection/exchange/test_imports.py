"""A sheet comes in from a file exactly, or with everything that is wrong with it said."""

import json
import uuid

import jsonschema
import pytest

from inspection.clauses.selectors import problems_of
from inspection.contents.selectors import content_of, plain_content
from inspection.exchange.errors import UnreadableSheet
from inspection.exchange.imports import read_sheet, starter_content
from inspection.exchange.selectors import STARTERS, schema_text
from inspection.exchange.services import create_from_content
from inspection.gauges.services import install_register
from inspection.models import Characteristic
from tests import factories

pytestmark = pytest.mark.django_db
SCHEMA = jsonschema.Draft202012Validator(
    json.loads(schema_text()), format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
)

WIDTH = {
    "number": "1",
    "text": "No wider than this.",
    "characteristic": "overall-width",
    "measuring_point": "widest part",
    "comparator": "at_most",
    "upper": "2 1/16 in",
    "phases": ["after", "before"],
}


def document(*clauses, **fields):
    return {"document": "rule-sheet", "version": 1, "name": "GT 32", "clauses": list(clauses) or [WIDTH]} | fields


def read(club, content):
    return read_sheet(json.dumps(content).encode(), club=club)


@pytest.fixture
def club():
    return factories.club()


def test_a_sheet_comes_in_with_its_limits_in_the_form_they_were_written(club):
    content = read(club, document(racing_class={"name": "GT", "scale": "1:32"}, is_closed=True))

    ((lasting_id, clause),) = content.clauses
    assert (content.name, content.racing_class, content.scale, content.is_closed) == ("GT 32", "GT", "1:32", True)
    assert (clause.upper.canonical, clause.phases, lasting_id) == ("2 1/16 in", ("before", "after"), None)


def test_a_characteristic_the_club_has_is_its_own(club):
    install_register(club=club, by=None)

    content = read(club, document())

    assert content.new_characteristics == ()
    assert content.clauses[0][1].characteristic.club == club


def test_a_characteristic_the_club_lacks_is_made_from_the_file_or_from_what_is_built_in(club):
    own = {"code": "tail-length", "name": "Tail length", "kind": "length", "unit": "in", "plausible_low": "1/8 in"}
    tail = WIDTH | {"number": "2", "characteristic": "tail-length"}

    content = read(club, document(WIDTH, tail, characteristics=[own]))
    revision = create_from_content(club=club, content=content, by=None)

    made = {one.code: one for one in Characteristic.objects.of(club)}
    assert set(made) == {"overall-width", "tail-length"}
    assert made["tail-length"].plausible_low == "1/8 in"
    assert made["overall-width"].group == "across"
    assert [clause.characteristic.code for clause in revision.clauses.all()] == ["overall-width", "tail-length"]


def test_a_described_characteristic_that_no_clause_speaks_of_is_not_made(club):
    unused = {"code": "tail-length", "name": "Tail length", "kind": "length", "unit": "in"}

    content = read(club, document(characteristics=[unused]))

    assert [one.code for one in content.new_characteristics] == ["overall-width"]


def test_a_clause_that_is_not_finished_comes_in_as_a_draft_s_may(club):
    unfinished = {"number": "1", "text": "Front grille.", "nominal": ".063 in"}

    content = read(club, document(unfinished))

    found = problems_of([clause for _id, clause in content.clauses])
    assert [problem.code for problem in found[0]] == ["comparator_missing"]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"Clause 1: no wider than 64 mm",
        b"%PDF-1.7",
        b"PK\x03\x04",
        b"\xff\xfe\x00",
        b'{"document": "rule-sheet", "version": 1, "name": NaN}',
        b'{"document": "rule-sheet", "document": "rule-sheet"}',
        b'{"document": "rule-sheet", "version": 1, "name": "\\ud800", "clauses": []}',
        b"[" * 100_000,
    ],
)
def test_a_file_that_is_not_json_says_so(club, data):
    with pytest.raises(UnreadableSheet) as refusal:
        read_sheet(data, club=club)

    assert "not a JSON file" in str(refusal.value)


@pytest.mark.parametrize("content", [[], "rule-sheet", 3, None, {}, {"document": "results", "version": 1}])
def test_json_that_is_no_rule_sheet_says_so(club, content):
    with pytest.raises(UnreadableSheet) as refusal:
        read(club, content)

    assert "not a rule sheet" in str(refusal.value)


@pytest.mark.parametrize("version", [3, 0, "1", 1.0, True, None])
def test_another_version_says_which_can_be_read(club, version):
    with pytest.raises(UnreadableSheet) as refusal:
        read(club, document() | {"version": version})

    assert "version 2 can be read" in str(refusal.value)


def test_a_file_of_more_than_a_megabyte_is_refused(club):
    with pytest.raises(UnreadableSheet) as refusal:
        read_sheet(b" " * 1_000_001, club=club)

    assert "1 MB" in str(refusal.value)


WRONG = {
    "no clauses": document() | {"clauses": []},
    "clauses no list": document() | {"clauses": {"1": "x"}},
    "a clause no object": document("no wider than this"),
    "no name": {"document": "rule-sheet", "version": 1, "clauses": [WIDTH]},
    "empty name": document(name="  "),
    "long name": document(name="x" * 121),
    "unknown key": document(uper="3 mm"),
    "unknown clause key": document(WIDTH | {"uper": "3 mm"}),
    "text missing": document({"number": "1"}),
    "text of another type": document(WIDTH | {"text": 5}),
    "text too long": document(WIDTH | {"text": "x" * 1001}),
    "unknown comparator": document(WIDTH | {"comparator": "about"}),
    "unknown phase": document(WIDTH | {"phases": ["yesterday"]}),
    "phase no text": document(WIDTH | {"phases": [1]}),
    "too many readings": document(WIDTH | {"readings_wanted": 11}),
    "readings true": document(WIDTH | {"readings_wanted": True}),
    "id no uuid": document(WIDTH | {"id": "first"}),
    "choices no list": document(WIDTH | {"choices": "rubber"}),
    "empty choice": document(WIDTH | {"choices": [" "]}),
    "unknown decision rule": document(decision_rule="coin"),
    "class no object": document(racing_class="GT"),
    "class without name": document(racing_class={"scale": "1:32"}),
    "characteristic without kind": document(characteristics=[{"code": "a", "name": "A"}]),
    "characteristic of odd kind": document(characteristics=[{"code": "a", "name": "A", "kind": "beauty"}]),
    "characteristic of odd group": document(
        characteristics=[{"code": "a", "name": "A", "kind": "count", "group": "attic"}]
    ),
    "code with blanks": document(characteristics=[{"code": "a b", "name": "A", "kind": "count"}]),
}
# What no schema can say: it is about units, or about what this club knows.
WRONG_BEYOND_THE_SCHEMA = {
    "limit of another kind": document(WIDTH | {"upper": "85 g"}),
    "limit not a number": document(WIDTH | {"upper": "NaN mm"}),
    "limit with exponent": document(WIDTH | {"upper": "1e999"}),
    "negative limit": document(WIDTH | {"upper": "-3 mm"}),
    "limit of an answer": document(WIDTH | {"characteristic": "windows-clear"}),
    "unknown characteristic": document(WIDTH | {"characteristic": "tail-length"}),
    "unit of another kind": document(characteristics=[{"code": "a", "name": "A", "kind": "mass", "unit": "mm"}]),
    "no unit": document(characteristics=[{"code": "a", "name": "A", "kind": "mass"}]),
    "unit of an answer": document(characteristics=[{"code": "a", "name": "A", "kind": "text", "unit": "mm"}]),
    "one id for two": document(
        *[WIDTH | {"number": str(n), "id": "5a419586-767a-4282-8370-fefb04722c8a"} for n in (1, 2)]
    ),
    "character that is not text": document(WIDTH | {"text": "a\x00b"}),
}


@pytest.mark.parametrize("name", [*WRONG, *WRONG_BEYOND_THE_SCHEMA])
def test_a_wrong_sheet_is_refused_whole_with_every_place_named(club, name):
    with pytest.raises(UnreadableSheet) as refusal:
        read(club, (WRONG | WRONG_BEYOND_THE_SCHEMA)[name])

    assert refusal.value.problems
    assert all(problem.endswith(".") for problem in refusal.value.problems)


@pytest.mark.parametrize("name", WRONG)
def test_the_schema_refuses_what_the_import_refuses(name):
    assert not SCHEMA.is_valid(WRONG[name])


def test_the_schema_takes_a_good_sheet_and_is_itself_valid():
    jsonschema.Draft202012Validator.check_schema(SCHEMA.schema)
    SCHEMA.validate(document())


def test_all_that_is_wrong_is_said_at_once(club):
    bad = document(WIDTH | {"upper": "85 g", "comparator": "about"}, WIDTH | {"number": "2", "text": 5})

    with pytest.raises(UnreadableSheet) as refusal:
        read(club, bad)

    words = " ".join(refusal.value.problems)
    assert len(refusal.value.problems) == 4
    assert "Clause 1" in words
    assert "Clause 2" in words


def test_a_sheet_of_more_clauses_than_any_club_has_is_refused(club):
    with pytest.raises(UnreadableSheet):
        read(club, document(*[{"number": str(n), "text": "x"} for n in range(501)]))


def test_a_large_sheet_is_read_with_two_queries(club, django_assert_num_queries):
    install_register(club=club, by=None)

    with django_assert_num_queries(2):
        content = read(club, document(*[WIDTH | {"number": str(n), "id": str(uuid.uuid4())} for n in range(500)]))

    assert len(content.clauses) == 500


def test_a_script_comes_in_as_the_text_it_is(club):
    content = read(club, document(WIDTH | {"text": "<script>alert(1)</script>"}))

    assert content.clauses[0][1].text == "<script>alert(1)</script>"


@pytest.mark.parametrize("starter", STARTERS, ids=lambda starter: starter.code)
def test_a_starter_is_a_good_document_and_ready_to_publish(club, starter):
    SCHEMA.validate(json.loads(starter.path.read_text(encoding="utf-8")))
    install_register(club=club, by=None)

    content = starter_content(club=club, code=starter.code)

    assert content.new_characteristics == ()
    assert [problem for found in problems_of([clause for _id, clause in content.clauses]) for problem in found] == []
    assert "invented" in content.opening_words
    revision = create_from_content(club=club, content=content, by=None)
    assert [plain_content(content_of(clause)) for clause in revision.clauses.order_by("position")] == [
        plain_content(clause) for _id, clause in content.clauses
    ]


def test_an_unknown_starter_is_a_bug_of_the_caller(club):
    with pytest.raises(KeyError):
        starter_content(club=club, code="no-such")
