"""Entering and changing parts, and moving their stock."""

import pytest

from inspection.clubs.errors import Refused
from inspection.models import LogEntry, Part, StockMove
from inspection.parts.selectors import part_version
from inspection.parts.services import PartContent, add_stock, change_part, count_stock, create_part, use_stock
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


def test_a_part_is_entered_with_its_first_stock(club):
    group = factories.racing_class(club)
    content = PartContent(code="T-200", name="Rear tire", sizes={"size_code": "200"}, allowed_in=[group])

    part = create_part(club=club, kind="tire", content=content, stock=8, by=None)

    part.refresh_from_db()
    assert (part.stock, part.sizes["diameter"], list(part.allowed_in.all())) == (8, "20.0 mm", [group])
    assert part.moves.get().change == 8
    assert LogEntry.objects.of(club).get().action == "entered part"


def test_an_article_number_stands_on_one_part_of_a_club(club):
    create_part(club=club, kind="tire", content=PartContent(code="A1", name="One"), by=None)
    create_part(club=factories.club(), kind="tire", content=PartContent(code="A1", name="Elsewhere"), by=None)

    with pytest.raises(Refused) as refusal:
        create_part(club=club, kind="wheel", content=PartContent(code="A1", name="Two"), by=None)

    assert refusal.value.code == "part_code_taken"
    assert "One" in str(refusal.value)


def test_owners_and_classes_are_of_the_club(club):
    elsewhere = factories.club()
    for content in (
        PartContent(code="A", name="A", owner=factories.driver(elsewhere)),
        PartContent(code="B", name="B", allowed_in=[factories.racing_class(elsewhere)]),
    ):
        with pytest.raises(Refused) as refusal:
            create_part(club=club, kind="tire", content=content, by=None)
        assert refusal.value.code == "stranger_in_part"
    assert not Part.objects.of(club).exists()


def test_who_saves_second_is_told_who_was_first(club):
    part = factories.part(club)
    version = part_version(part)
    first = factories.member(club)
    change_part(part=part, content=PartContent(code=part.code, name="First"), version=version, by=first)

    with pytest.raises(Refused) as refusal:
        change_part(part=part, content=PartContent(code=part.code, name="Second"), version=version, by=None)

    assert refusal.value.code == "part_changed_meanwhile"
    assert str(first) in str(refusal.value)
    assert Part.objects.get(pk=part.pk).name == "First"


def test_stock_moves_and_keeps_why(club):
    part = factories.part(club, stock=3)

    add_stock(part=part, quantity=5, reason="", by=None)
    use_stock(part=part, quantity=2, reason="club car", by=None)
    count_stock(part=part, counted=4, reason="", by=None)

    part.refresh_from_db()
    assert part.stock == 4
    found = list(StockMove.objects.order_by("pk").values_list("change", "reason"))
    assert found == [(5, "came in"), (-2, "club car"), (-2, "counted anew")]


def test_stock_never_falls_below_nothing(club):
    part = factories.part(club, name="Braid", stock=1)

    with pytest.raises(Refused) as refusal:
        use_stock(part=part, quantity=2, reason="", by=None)

    assert refusal.value.code == "not_in_stock"
    assert str(refusal.value).startswith("Of Braid there are 1 in stock, not 2.")
    assert not StockMove.objects.exists()


@pytest.mark.parametrize("quantity", [0, -1, 100_000])
def test_nothing_is_moved_by_no_number(club, quantity):
    part = factories.part(club, stock=5)

    for service in (use_stock, add_stock):
        with pytest.raises(Refused):
            service(part=part, quantity=quantity, reason="", by=None)
