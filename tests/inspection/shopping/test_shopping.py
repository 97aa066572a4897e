"""What a class needs: what the clauses leave of the parts, what they rule out and why, and what it comes to."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.urls import reverse

from inspection.models import Clause, Role, RuleSheetRevision
from inspection.shopping.selectors import shopping_list
from tests import factories

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 11, 25)


def clause(revision, number, code, kind="length", **fields):
    characteristic = factories.characteristic(revision.rule_sheet.club, code=code, name=code, kind=kind, unit="")
    return Clause.objects.create(
        revision=revision,
        position=int(number),
        number=number,
        text="As said.",
        characteristic=characteristic,
        phases=["before"],
        **fields,
    )


@pytest.fixture
def club():
    return factories.club(decimal_mark=".")


@pytest.fixture
def group(club):
    """A class: rear tires at least 19 mm, pinions of 11 or 12 teeth, motors of a list, guides at most 27 mm long."""
    made = factories.racing_class(club, "Evening")
    revision = factories.published_sheet(club, clauses=0, racing_class=made)
    revision.state = "draft"
    revision.save()
    clause(revision, "1", "rear-tire-diameter", comparator="at_least", lower="19.00 mm", readings_wanted=2)
    clause(revision, "2", "pinion-teeth", kind="choice", comparator="one_of", choices=["11", "12"])
    clause(revision, "3", "motor-type", kind="choice", comparator="one_of", choices=["Heron", "Egret 20"])
    clause(revision, "4", "guide-blade-length", comparator="at_most", upper="27.0 mm")
    revision.state = "published"
    revision.save()
    return made


def published_of(group):
    """The rules of a class, opened so that a clause can be added."""
    revision = RuleSheetRevision.objects.get(rule_sheet__racing_class=group)
    revision.state = "draft"
    revision.save()
    return revision


def place(shopping, name):
    return next(each for each in shopping.places if each.place == name)


def listed(club, group, **more):
    return shopping_list(club, group, on=TODAY, **more)


def test_a_tire_below_the_least_diameter_is_ruled_out_by_its_clause(club, group):
    good = factories.part(club, name="Good", sizes={"diameter": "19.5 mm"}, price=Decimal(3))
    worn = factories.part(club, name="Worn", sizes={"diameter": "18.5 mm"}, price=Decimal(1))

    found = place(listed(club, group), "rear_tires")

    assert [offer.part for offer in found.allowed] == [good]
    assert [offer.part for offer in found.ruled_out] == [worn]
    assert found.ruled_out[0].ruled_out == ("clause 1, rear-tire-diameter: at least 19.00 mm (0.748 in)",)
    assert {offer.part for offer in place(listed(club, group), "front_tires").allowed} == {good, worn}


def test_teeth_names_and_motor_classes_are_held_against_the_lists(club, group):
    for teeth in (10, 11):
        factories.part(club, kind="pinion", name=f"P{teeth}", sizes={"teeth": str(teeth)})
    factories.part(club, kind="motor", name="Heron 18", sizes={"motor_class": "Heron"})
    factories.part(club, kind="motor", name="Egret 20", sizes={"motor_class": "Egret"})
    factories.part(club, kind="motor", name="Crane", sizes={})

    found = listed(club, group)

    assert [str(offer.part) for offer in place(found, "pinion").allowed] == ["P11"]
    assert {str(offer.part) for offer in place(found, "motor").allowed} == {"Heron 18", "Egret 20"}
    assert [str(offer.part) for offer in place(found, "motor").ruled_out] == ["Crane"]


def test_a_compound_is_known_by_any_of_its_words(club, group):
    revision = published_of(group)
    clause(revision, "5", "tire-material", kind="choice", comparator="one_of", choices=["rubber"])
    revision.state = "published"
    revision.save()
    for compound in ("hard rubber", "rubber", "sponge"):
        factories.part(club, name=compound, sizes={"compound": compound})

    found = place(listed(club, group), "front_tires")

    assert [str(offer.part) for offer in found.allowed] == ["hard rubber", "rubber"]


def test_what_a_record_does_not_tell_rules_nothing_out(club, group):
    factories.part(club, kind="guide", name="Unmeasured")

    assert [str(offer.part) for offer in place(listed(club, group), "guide").allowed] == ["Unmeasured"]


def test_a_part_that_other_classes_name_is_not_for_this_one(club, group):
    ours, theirs = factories.part(club, kind="body", name="Ours"), factories.part(club, kind="body", name="Theirs")
    ours.allowed_in.add(group)
    theirs.allowed_in.add(factories.racing_class(club, "Retro"))

    found = place(listed(club, group), "body")

    assert [(str(offer.part), offer.is_named) for offer in found.allowed] == [("Ours", True)]
    assert found.ruled_out[0].ruled_out == ("allowed in Retro only",)


def test_the_cheapest_that_is_there_is_counted_and_pairs_twice(club, group):
    factories.part(club, name="Cheap, one left", sizes={"diameter": "20 mm"}, price=Decimal(2), stock=1)
    there = factories.part(club, name="There", sizes={"diameter": "20 mm"}, price=Decimal(3), stock=4)
    factories.part(club, kind="body", name="To order", price=Decimal(10))
    factories.part(club, kind="guide", name="Without a price", stock=3)

    found = listed(club, group)

    assert place(found, "rear_tires").chosen.part == there
    assert found.total == Decimal(3) * 4 + 10
    assert place(found, "body").must_be_ordered
    assert not place(found, "rear_tires").must_be_ordered
    assert {"guide", "pinion"} <= {each.place for each in found.open_places}
    assert [str(offer.part) for offer in place(found, "rear_tires").allowed] == ["Cheap, one left", "There"]


def test_what_the_car_has_and_may_keep_costs_nothing(club, group):
    factories.part(club, sizes={"diameter": "20 mm"}, price=Decimal(3), stock=4)
    factories.part(club, kind="pinion", sizes={"teeth": "11"}, price=Decimal(2), stock=1)
    sheet = factories.bench_sheet(
        factories.car(club),
        parts={
            "rear_tires": {"name": "Old", "kind": "tire", "sizes": {"diameter": "18.9 mm"}},
            "front_tires": {"name": "Front", "kind": "tire", "sizes": {"diameter": "18 mm"}},
            "pinion": {"name": "Twelve", "kind": "pinion", "sizes": {"teeth": "12"}},
        },
    )

    found = listed(club, group, sheet=sheet)

    assert not place(found, "pinion").is_needed
    assert place(found, "rear_tires").is_needed
    assert place(found, "rear_tires").on_car_ruled_out
    assert found.total == 6


def test_a_class_without_rules_says_so_and_rules_nothing_out(club):
    group = factories.racing_class(club)
    factories.part(club, sizes={"diameter": "3 mm"})

    found = listed(club, group)

    assert found.revision is None
    assert len(place(found, "rear_tires").allowed) == 1


def test_parts_of_drivers_are_offered_to_their_own_cars_alone(club, group):
    owner = factories.driver(club)
    factories.part(club, kind="guide", name="Own", owner=owner)
    sheet = factories.bench_sheet(factories.car(club, owner))

    assert not place(listed(club, group), "guide").offers
    assert len(place(listed(club, group, sheet=sheet), "guide").offers) == 1


def test_many_parts_take_no_more_queries_than_few(club, group, django_assert_max_num_queries):
    for number in range(30):
        factories.part(club, sizes={"diameter": f"{19 + number / 10} mm"}).allowed_in.add(group)

    with django_assert_max_num_queries(8):
        listed(club, group)


@pytest.fixture
def reader(client, club):
    client.force_login(factories.member(club, Role.TECH_INSPECTOR))
    return client


def test_the_page_says_where_nothing_is_asked_and_where_nothing_is_there(reader, club, group):
    factories.part(club, name="Worn", sizes={"diameter": "18.5 mm"})
    url = reverse("shopping-list", args=[club.slug])

    page = reader.get(url, {"racing_class": group.pk}).content.decode()

    assert "at least 19.00 mm" in page
    assert "No clause says anything of its sizes or its name." in page
    assert "No part for this place is in the register." in page
    assert "No part of the register may be used here." in page
    assert reader.get(url).status_code == 200
    assert reader.get(url, {"racing_class": "99999"}).status_code == 422


def test_the_list_leaves_as_a_file_and_on_paper(reader, club, group):
    factories.part(club, name="Worn", sizes={"diameter": "18.5 mm"}, price=Decimal(1))
    asked = {"racing_class": group.pk}

    out = reader.get(reverse("shopping-list", args=[club.slug]), asked | {"export": "csv"})
    rows = list(csv.DictReader(io.StringIO(out.content.decode("utf-8-sig"))))
    paper = reader.get(reverse("shopping-print", args=[club.slug]), asked | {"as": "page"}).content.decode()

    assert [(row["part"], row["allowed"]) for row in rows if row["place"] == "Rear tires"] == [("Worn", "no")]
    assert "What you need for Evening" in paper
    assert reader.get(reverse("shopping-print", args=[club.slug])).status_code == 302
