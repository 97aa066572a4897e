"""Parts in from files as people keep them, and out as files that come in again unchanged."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspection.clubs.errors import Refused
from inspection.clubs.imports import Row, TableFile, read_table
from inspection.models import Part, Role, StockMove
from inspection.partfiles.imports import read_rows, rows_text
from inspection.partfiles.selectors import SIZES, column_of, plan_parts
from inspection.partfiles.services import bring_in_parts
from inspection.planning.register import PART_SIZES
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club(decimal_mark=",")


def table(text, name="parts.csv", encoding="utf-8"):
    return read_table(SimpleUploadedFile(name, text.encode(encoding)))


def test_a_list_with_german_words_semicolons_and_commas_is_read(club):
    text = (
        "Bezeichnung;Artikel-Nr;Art;Zähnezahl;Außendurchmesser (mm);Preis;Bestand\n"
        "Ritzel fein;R 11;Ritzel;11;6,5;2,40;5\n"
    )

    (line,) = plan_parts(club, table(text, encoding="cp1252"))

    assert (line.outcome, line.errors) == ("new", [])
    assert line.sizes == {"teeth": "11", "outside_diameter": "6.5 mm"}
    assert (line.code, line.kind, line.price, line.stock) == ("R 11", "pinion", Decimal("2.40"), 5)


@pytest.mark.parametrize("code", sorted({spec.code for specs in PART_SIZES.values() for spec in specs}))
def test_every_size_has_its_own_heading(code):
    assert column_of(code.replace("_", " ").title(), 0).codes[0] == code


def test_other_words_for_sizes_name_sizes_that_exist():
    known = {spec.code for specs in PART_SIZES.values() for spec in specs}

    assert {code for codes in SIZES.values() for code in codes} <= known


def test_a_heading_means_what_the_kind_of_the_row_has(club):
    text = "code;name;kind;diameter;width in\nA;A;tire;20;0.4\nB;B;spur gear;19 mm;2 mm\n"

    tire, gear = plan_parts(club, table(text))

    assert tire.sizes == {"diameter": "20 mm", "width": "0.4 in"}
    assert gear.sizes == {"outside_diameter": "19 mm", "face_width": "2 mm"} or gear.errors == ["missing: Teeth"]


def test_a_size_that_its_kind_has_not_is_refused_with_its_row(club):
    with pytest.raises(Refused) as refusal:
        bring_in_parts(club=club, table=table("code,name,kind,teeth\nA,A,tire,\nB,B,tire,12\n"), by=None)

    assert refusal.value.code == "part_rows_refused"
    assert "3: a tire has no teeth" in str(refusal.value)
    assert not Part.objects.exists()


def test_a_row_of_a_known_number_changes_that_part_and_empty_cells_leave_what_stands(club):
    part = factories.part(club, code="T1", name="Tire", stock=4, price=Decimal(2), sizes={"width": "9.5 mm"})

    done = bring_in_parts(club=club, table=table("code;name;kind;stock;price;size\nT1;;;6;2,50;200\n"), by=None)

    part.refresh_from_db()
    assert done == {"new": 0, "changed": 1, "same": 0}
    assert (part.name, part.stock, part.price) == ("Tire", 6, Decimal("2.50"))
    assert part.sizes == {"width": "9.5 mm", "size_code": "200", "diameter": "20.0 mm"}
    assert StockMove.objects.get().change == 2


def test_a_preview_says_what_would_change(club):
    factories.part(club, code="T1", name="Tire", stock=4)

    (line,) = plan_parts(club, table("code;stock\nT1;6\n"))

    assert line.notes == ["stock: 4 → 6"]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (";A;tire;", "no article number"),
        ("A;A;;", "no kind"),
        ("A;A;spoiler;", "is no kind of part"),
        ("A;;tire;", "no name"),
        ("A;A;pinion;", "missing: Teeth"),
        ("A;A;tire;-1", "no whole number"),
        ("T1;A;wheel;", "never becomes another kind"),
    ],
)
def test_what_cannot_come_in_is_told_at_its_row(club, row, words):
    factories.part(club, code="T1")

    (line,) = plan_parts(club, table(f"code;name;kind;stock\n{row}\n"))

    assert line.outcome == "wrong"
    assert words in "; ".join(line.errors)


def test_one_number_twice_in_a_file_names_both_rows(club):
    lines = plan_parts(club, table("code;name;kind\nA;A;tire\nA;B;tire\n"))

    assert lines[1].errors == ["the same article number as in row 2"]


def test_a_file_without_article_numbers_says_what_it_lacks(club):
    with pytest.raises(Refused) as refusal:
        plan_parts(club, table("Foo;Bar\n1;2\n"))

    assert refusal.value.code == "no_code_column"


def test_more_rows_than_come_in_at_once_are_refused_whole(club):
    rows = tuple(Row(number, (f"A{number}", "A", "tire")) for number in range(2, 10_003))

    with pytest.raises(Refused) as refusal:
        bring_in_parts(club=club, table=TableFile("long.csv", ("code", "name", "kind"), rows), by=None)

    assert refusal.value.code == "part_file_too_long"


def test_many_rows_take_no_more_queries_to_plan_than_one(club, django_assert_max_num_queries):
    text = "code;name;kind;teeth\n" + "".join(f"G{n};Gear {n};spur gear;{20 + n % 30}\n" for n in range(300))

    with django_assert_max_num_queries(6):
        assert {line.outcome for line in plan_parts(club, table(text))} == {"new"}
    assert bring_in_parts(club=club, table=table(text), by=None)["new"] == 300


def filled(club):
    owner, group = factories.driver(club, "Ada Brandt"), factories.racing_class(club, "Evening, 1:32")
    first = factories.part(
        club, code="-7", name="=Gear", kind="spur_gear", owner=owner, price=Decimal("3.4"), stock=2,
        sizes={"teeth": "36", "outside_diameter": "19.0 mm"}, note="soft; quiet",
    )  # fmt: skip
    first.allowed_in.add(group, factories.racing_class(club, "Retro"))
    factories.part(club, code="W", kind="wheel", sizes={"inset": "-0.5 mm", "width": "3/8 in"}, is_active=False)
    factories.part(club, code="T", kind="tire", sizes={"size_code": "200", "diameter": "19.6 mm", "compound": "25.0"})


@pytest.mark.parametrize("file_format", ["csv", "xlsx"])
@pytest.mark.parametrize("mark", [",", "."])
def test_what_goes_out_comes_in_unchanged(client, file_format, mark):
    club = factories.club(decimal_mark=mark)
    filled(club)
    client.force_login(factories.member(club, Role.TECH_INSPECTOR))
    out = client.get(reverse("part-export", args=[club.slug]), {"export": file_format})

    lines = plan_parts(club, read_table(SimpleUploadedFile(f"parts.{file_format}", out.content)))

    assert [(line.outcome, line.errors, line.notes) for line in lines] == [("same", [], [])] * 3


@pytest.mark.parametrize("file_format", ["csv", "xlsx"])
def test_a_register_moves_to_an_empty_one_whole(client, file_format):
    club = factories.club(decimal_mark=",")
    filled(club)
    client.force_login(factories.member(club, Role.OWNER))
    url = reverse("part-export", args=[club.slug])
    out = client.get(url, {"export": file_format}).content
    kept = {part.code: (part.sizes, part.stock, part.note, part.is_active) for part in Part.objects.of(club)}
    Part.objects.all().delete()

    bring_in_parts(club=club, table=read_table(SimpleUploadedFile(f"p.{file_format}", out)), by=None)

    assert {part.code: (part.sizes, part.stock, part.note, part.is_active) for part in Part.objects.of(club)} == kept
    assert Part.objects.get(code="-7").allowed_in.count() == 2


def test_rows_are_kept_from_one_page_to_the_next():
    kept = TableFile("a.csv", ("code", "name"), (Row(2, ("A", "„ö“")), Row(5, ("B", ""))))

    assert read_rows(rows_text(kept)) == kept


@pytest.mark.parametrize("text", ["", "x", "AAAA", "e30="])
def test_rows_that_were_tampered_with_are_refused(text):
    with pytest.raises(Refused):
        read_rows(text)


def test_the_page_shows_the_rows_and_then_brings_them_in(client, club):
    client.force_login(factories.member(club, Role.ENTRY_DESK))
    url = reverse("part-import", args=[club.slug])
    file = SimpleUploadedFile("parts.csv", b"code;name;kind;teeth\nP11;Pinion 11;pinion;11\n")

    shown = client.post(url, {"file": file})
    assert not Part.objects.exists()
    done = client.post(url, {"rows": shown.context["form"]["rows"].value()}, follow=True)

    assert Part.objects.get().sizes == {"teeth": "11"}
    assert "1 parts are new" in done.content.decode()


def test_a_file_with_a_wrong_row_offers_no_way_in(client, club):
    client.force_login(factories.member(club, Role.OWNER))
    file = SimpleUploadedFile("parts.csv", b"code;name;kind\nP11;Pinion;pinion\n")

    page = client.post(reverse("part-import", args=[club.slug]), {"file": file}).content.decode()

    assert "missing: Teeth" in page
    assert "Bring them in" not in page
