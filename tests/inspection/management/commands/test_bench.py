"""`manage.py bench`: a build worked out by a file, without a club and without a database."""

import io
import json
import sys
from pathlib import Path

import jsonschema
import pytest
from django.core.management import call_command

EXAMPLE = Path(__file__).resolve().parents[4] / "fixtures" / "bench" / "sidewinder.json"


def run(*arguments):
    """What the command printed, what it said on the error channel, and what it ended with."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("bench", *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue(), ended.value.code


def schema(*of):
    out = io.StringIO()
    call_command("bench", "--schema", *of, stdout=out)
    return json.loads(out.getvalue())


def test_both_schemas_are_schemas():
    for of in ((), ("result",)):
        jsonschema.Draft202012Validator.check_schema(schema(*of))


def test_the_example_rubs_and_the_command_says_so():
    out, err, code = run(str(EXAMPLE), "--json")
    result = json.loads(out)
    jsonschema.Draft202012Validator(schema("result")).validate(result)
    assert (err, code, result["good"]) == ("", 1, False)


def test_once_the_pinion_is_shortened_it_ends_with_nothing_wrong(tmp_path):
    document = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    document["parts"]["pinion"]["sizes"]["length"] = "6.2 mm"
    document.pop("on_hand")
    document.pop("wanted")
    file = tmp_path / "bench.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    out, _err, code = run(str(file))
    assert code == 0
    assert "Tire to pinion, Rear right: 0.20" in out


def test_standard_input_is_read_for_a_dash(monkeypatch):
    class Typed:
        buffer = io.BytesIO(b'{"document": "bench", "version": 1}')

    monkeypatch.setattr(sys, "stdin", Typed)
    out, _err, code = run("-")
    assert code == 1
    assert out


@pytest.mark.parametrize("text", ["", "{", "[]", '{"document": "bench", "version": 1, "parts": 3}'])
def test_what_cannot_be_read_ends_with_2_and_says_why(text, tmp_path):
    file = tmp_path / "bench.json"
    file.write_text(text, encoding="utf-8")
    out, err, code = run(str(file))
    assert (out, code) == ("", 2)
    assert err


def test_sizes_that_no_build_has_end_with_2_and_name_the_place(tmp_path):
    document = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    document["parts"]["rear_tires"]["sizes"]["width"] = "0 mm"
    file = tmp_path / "bench.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    _out, err, code = run(str(file))
    assert code == 2
    assert "rear.left.tire_width" in err


def test_no_file_is_asked_for():
    assert run()[2] == 2
