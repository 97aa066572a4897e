"""Job tickets: what goes in leaves the stock, what is taken back returns, and what is due stands first."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from inspection.clubs.errors import Refused
from inspection.jobtickets.selectors import due_counts, job_version, jobs_of, state_of, sums_of
from inspection.jobtickets.services import (
    JobContent,
    add_labor,
    change_job,
    open_job,
    set_state,
    take_back_line,
    use_part,
)
from inspection.models import JobLine, JobTicket, LogEntry, Role
from tests import factories

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 11, 25)


@pytest.fixture
def club():
    return factories.club(decimal_mark=",")


@pytest.fixture
def ticket(club):
    content = JobContent(customer="Ada Brandt", work_agreed="New rear tires", deposit=Decimal(5), contact="555 0199")
    return open_job(club=club, content=content, by=None)


@pytest.fixture
def tire(club):
    return factories.part(club, code="T1", name="Tire", stock=4, price=Decimal("3.80"))


def test_tickets_are_numbered_within_a_club(club, ticket):
    content = JobContent(customer="B", work_agreed="C")

    assert open_job(club=club, content=content, by=None).number == 2
    assert open_job(club=factories.club(), content=content, by=None).number == 1


def test_a_part_leaves_the_stock_at_the_price_of_the_day(ticket, tire):
    use_part(ticket=ticket, part=tire, quantity=Decimal(2), by=None)
    tire.refresh_from_db()
    tire.price = Decimal(9)
    tire.save()

    assert tire.stock == 2
    assert sums_of(ticket).total == Decimal("7.60")
    assert sums_of(ticket).balance == Decimal("2.60")
    assert tire.moves.get().reason == "ticket 1"


def test_more_than_is_there_is_refused_and_nothing_is_written(ticket, tire):
    with pytest.raises(Refused) as refusal:
        use_part(ticket=ticket, part=tire, quantity=Decimal(5), by=None)

    tire.refresh_from_db()
    assert refusal.value.code == "not_in_stock"
    assert (tire.stock, JobLine.objects.count()) == (4, 0)


@pytest.mark.parametrize("quantity", ["0", "-1", "1.5"])
def test_parts_are_whole(ticket, tire, quantity):
    with pytest.raises(Refused) as refusal:
        use_part(ticket=ticket, part=tire, quantity=Decimal(quantity), by=None)
    assert refusal.value.code == "nothing_on_line"


def test_a_line_that_is_taken_back_counts_no_longer_and_its_part_is_there_again(ticket, tire):
    line = use_part(ticket=ticket, part=tire, quantity=Decimal(2), by=None)
    labor = add_labor(ticket=ticket, text="Gluing", quantity=Decimal("1.5"), price=Decimal(20), by=None)

    take_back_line(line=line, by=None)
    take_back_line(line=labor, by=None)

    tire.refresh_from_db()
    assert (tire.stock, sums_of(ticket).total) == (4, 0)
    with pytest.raises(Refused) as refusal:
        take_back_line(line=line, by=None)
    assert refusal.value.code == "line_taken_back"
    tire.refresh_from_db()
    assert tire.stock == 4


def test_nothing_is_written_on_what_was_collected_until_it_is_open_again(ticket, tire):
    line = use_part(ticket=ticket, part=tire, quantity=Decimal(1), by=None)
    set_state(ticket=ticket, state="collected", by=None)

    for refused in (
        lambda: use_part(ticket=ticket, part=tire, quantity=Decimal(1), by=None),
        lambda: add_labor(ticket=ticket, text="More", quantity=Decimal(1), price=Decimal(1), by=None),
        lambda: take_back_line(line=line, by=None),
        lambda: set_state(ticket=ticket, state="done", by=None),
    ):
        with pytest.raises(Refused) as refusal:
            refused()
        assert refusal.value.code == "job_closed"
    set_state(ticket=ticket, state="open", by=None)
    assert use_part(ticket=ticket, part=tire, quantity=Decimal(1), by=None)


def test_what_is_called_off_gives_its_parts_back(ticket, tire):
    line = use_part(ticket=ticket, part=tire, quantity=Decimal(1), by=None)
    set_state(ticket=ticket, state="called_off", by=None)

    take_back_line(line=line, by=None)

    tire.refresh_from_db()
    assert tire.stock == 4


def test_states_follow_from_what_was_written(club):
    now = timezone.now()
    day = dt.timedelta(days=1)

    def state(**fields):
        return state_of(JobTicket(**fields), TODAY)

    assert state() == "open"
    assert state(promised_on=TODAY) == "open"
    assert state(promised_on=TODAY - day) == "overdue"
    assert state(promised_on=TODAY - day, done_at=now) == "done"
    assert state(done_at=now, collected_at=now) == "collected"
    assert state(done_at=now, cancelled_at=now) == "called_off"


def test_what_is_overdue_stands_first_and_what_is_over_last(club, django_assert_max_num_queries):
    def job(customer, days=None, state=""):
        promised = TODAY + dt.timedelta(days=days) if days is not None else None
        content = JobContent(customer=customer, work_agreed="x", promised_on=promised)
        made = open_job(club=club, content=content, by=None)
        if state:
            set_state(ticket=made, state=state, by=None)

    job("over", -9, "collected")
    job("later", 5)
    job("some day")
    job("waits", -3, "done")
    job("late", -2)
    job("later still", -1)

    with django_assert_max_num_queries(2):
        found = [(each.customer, sums_of(each).total) for each in jobs_of(club, TODAY)]
    assert [name for name, _total in found] == ["late", "later still", "later", "some day", "waits", "over"]
    assert due_counts(club, TODAY) == {"overdue": 2, "open": 4}


def test_who_saves_second_is_told(club, ticket):
    version = job_version(ticket)
    content = JobContent(customer="Ada Brandt", work_agreed="Front tires too")
    change_job(ticket=ticket, content=content, version=version, by=None)

    with pytest.raises(Refused) as refusal:
        change_job(ticket=ticket, content=content, version=version, by=None)
    assert refusal.value.code == "job_changed_meanwhile"


def test_cars_and_drivers_of_other_clubs_are_refused(club):
    with pytest.raises(Refused) as refusal:
        open_job(
            club=club,
            content=JobContent(customer="A", work_agreed="B", car=factories.car(factories.club())),
            by=None,
        )
    assert refusal.value.code == "stranger_in_job"


def test_the_log_says_what_was_done_but_not_how_to_reach_anybody(club, ticket):
    entry = LogEntry.objects.of(club).get()

    assert entry.action == "opened job ticket"
    assert "555" not in f"{entry.summary} {entry.reason} {entry.detail}"


@pytest.fixture
def desk(client, club):
    client.force_login(factories.member(club, Role.ENTRY_DESK))
    return client


def test_from_agreement_to_collection_on_the_pages(desk, club, tire):
    desk.post(reverse("job-create", args=[club.slug]), {"customer": "Ada", "work_agreed": "Tires", "deposit": "2,50"})
    ticket = JobTicket.objects.get()
    write = reverse("job-line-create", args=[club.slug, ticket.public_id])

    desk.post(write, {"part": "T1", "quantity": "2"})
    desk.post(write, {"text": "Truing", "quantity": "0,5", "price": "18"})
    page = desk.get(reverse("job-detail", args=[club.slug, ticket.public_id])).content.decode()

    assert "14,10" in page  # 2 x 3.80 + 0.5 x 18 - 2.50
    desk.post(reverse("job-state", args=[club.slug, ticket.public_id]), {"state": "collected"})
    ticket.refresh_from_db()
    assert ticket.done_at
    assert ticket.collected_at
    assert "Ada" not in desk.get(reverse("job-list", args=[club.slug])).content.decode()
    assert "Ada" in desk.get(reverse("job-list", args=[club.slug]), {"all": "yes"}).content.decode()


def test_a_part_that_is_not_there_is_refused_on_the_page_and_nothing_typed_is_lost(desk, club, ticket, tire):
    write = reverse("job-line-create", args=[club.slug, ticket.public_id])

    page = desk.post(write, {"part": "T1", "quantity": "9"})

    assert page.status_code == 409
    assert "there are 4 in stock, not 9" in page.content.decode()
    assert 'value="T1"' in page.content.decode()
    assert desk.post(write, {"part": "T9", "quantity": "1"}).status_code == 422
    assert desk.post(write, {"quantity": "1"}).status_code == 422


def test_the_customers_paper_has_sums_and_a_caution_but_no_contact(desk, club, ticket, tire):
    use_part(ticket=ticket, part=tire, quantity=Decimal(2), by=None)

    page = desk.get(reverse("job-print", args=[club.slug, ticket.public_id]), {"as": "page"}).content.decode()

    assert "Small parts and magnets: keep them from children." in page
    assert "2,60" in page
    assert "555 0199" not in page


def test_the_inspector_does_not_see_what_customers_pay(client, club, ticket):
    client.force_login(factories.member(club, Role.TECH_INSPECTOR))

    assert client.get(reverse("job-detail", args=[club.slug, ticket.public_id])).status_code == 403
