"""After the race: who is called by place and by lot, and what the director makes of what tech found."""

import pytest
from django.urls import reverse

from inspection.inspections.services import record_measurement
from inspection.models import Clause, Inspection, LogEntry, Role
from racedesk.aftertech import services
from racedesk.aftertech.errors import CallsNobody, DismissalNeedsReason, NobodyToCall, NoTechForCall, NotProposed
from racedesk.aftertech.selectors import called_rows, decisions_of, planned_call, proposals_of
from racedesk.models import Penalty, ResultRow
from racedesk.results.selectors import outcome_of
from tests import factories, race_factories
from tests.racedesk.results.test_results_services import run

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(club):
    return factories.member(club, Role.OWNER)


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def race(club, owner):
    """Six have driven; the sheet asks for at most 64 mm before the race, and at most 64.10 mm after it."""
    made = race_factories.race_with_tech(race_factories.event(club, lanes=3))
    clause = made.rule_revision.clauses.first()
    rows = [{"when": {"about": "phase", "name": "", "is": "one_of", "values": ["after"]}, "upper": "64.10 mm"}]
    Clause.objects.filter(pk=clause.pk).update(
        phases=["before", "after"], limit_rows=rows, consequence="Excluded from the race."
    )
    for entry in race_factories.entries(made, 6):
        entry.override_by, entry.override_at, entry.override_reason = owner, entry.entered_at, "friendly night"
        entry.save()
    race_factories.drawn(made, by=owner)
    run(made)
    return made


def placed(race):
    return [row.entry_id for row in outcome_of(race).rows]


def after(race, row, text, by):
    clause = race.rule_revision.clauses.get(consequence="Excluded from the race.")
    return record_measurement(inspection=row.card, clause=clause, text=text, by=by).finding


def test_the_first_places_are_called_and_some_more_by_a_seed_that_anybody_can_use_again(race, owner):
    call = services.call_to_tech(race=race, first_places=2, drawn=2, seed=4471, by=owner)
    rows = called_rows(call)
    assert [row.called.entry_id for row in rows[:2]] == placed(race)[:2]
    assert [row.called.why for row in rows] == ["place", "place", "drawn", "drawn"]
    again = planned_call(race, first_places=2, drawn=2, seed=int(call.seed))
    assert [entry.pk for entry in again.drawn] == [row.called.entry_id for row in rows[2:]]
    others = {tuple(e.pk for e in planned_call(race, first_places=2, drawn=2, seed=n).drawn) for n in range(12)}
    assert len(others) > 3
    assert not {pk for drawn in others for pk in drawn} & set(placed(race)[:2])


def test_each_car_that_is_called_has_a_card_for_after_the_race(race, owner):
    call = services.call_to_tech(race=race, first_places=1, drawn=1, seed=1, by=owner)
    assert [row.card.phase for row in called_rows(call)] == [Inspection.Phase.AFTER] * 2


def test_after_the_race_its_own_limit_holds(race, owner):
    first, second = called_rows(services.call_to_tech(race=race, first_places=2, drawn=0, seed=1, by=owner))
    assert after(race, first, "64.05", owner).outcome == "pass"
    assert after(race, second, "64.15", owner).outcome == "fail"
    assert "here at most 64.10 mm" in after(race, first, "64.05", owner).limit_text


def test_what_fails_is_only_proposed_until_the_director_confirms(race, owner):
    (row,) = called_rows(services.call_to_tech(race=race, first_places=1, drawn=0, seed=1, by=owner))
    finding = after(race, row, "64.50", owner)
    (proposed,) = proposals_of(race)
    assert (proposed.finding, proposed.entry.pk) == (finding, row.called.entry_id)
    assert not Penalty.objects.exists()
    assert outcome_of(race).rows[0].entry_id == row.called.entry_id
    services.confirm_finding(race=race, finding=finding, kind="exclusion", reason="Too wide after the race.", by=owner)
    assert Penalty.objects.get().finding == finding
    assert proposals_of(race) == []
    excluded = next(one for one in outcome_of(race).rows if one.entry_id == row.called.entry_id)
    assert excluded.status == ResultRow.Status.EXCLUDED
    with pytest.raises(NotProposed):
        services.confirm_finding(race=race, finding=finding, kind="exclusion", reason="Again.", by=owner)


def test_a_finding_that_was_corrected_is_not_proposed_any_more(race, owner):
    (row,) = called_rows(services.call_to_tech(race=race, first_places=1, drawn=0, seed=1, by=owner))
    finding = after(race, row, "64.50", owner)
    after(race, row, "64.00", owner)
    assert proposals_of(race) == []
    with pytest.raises(NotProposed):
        services.confirm_finding(race=race, finding=finding, kind="exclusion", reason="Too wide.", by=owner)


def test_what_the_director_dismisses_is_proposed_no_more_and_changes_nothing(race, owner):
    (row,) = called_rows(services.call_to_tech(race=race, first_places=1, drawn=0, seed=1, by=owner))
    finding = after(race, row, "64.50", owner)
    before = placed(race)
    with pytest.raises(DismissalNeedsReason):
        services.dismiss_finding(race=race, finding=finding, reason="  ", by=owner)
    assert len(proposals_of(race)) == 1
    services.dismiss_finding(race=race, finding=finding, reason="Hit by another car on the last lap.", by=owner)
    assert proposals_of(race) == []
    assert placed(race) == before
    assert not Penalty.objects.exists()
    (decided,) = decisions_of(race)
    assert (decided.reason, decided.by, decided.penalty) == ("Hit by another car on the last lap.", owner, None)
    assert LogEntry.objects.get(action="dismissed finding").reason == "Hit by another car on the last lap."
    for again in (services.dismiss_finding, services.confirm_finding):
        more = {"kind": "exclusion"} if again is services.confirm_finding else {}
        with pytest.raises(NotProposed):
            again(race=race, finding=finding, reason="Again.", by=owner, **more)


def test_nobody_is_called_without_tech_without_laps_or_without_a_number(race, owner, club):
    with pytest.raises(NoTechForCall):
        services.call_to_tech(race=race_factories.race(), first_places=3, drawn=1, seed=1, by=owner)
    with pytest.raises(CallsNobody):
        services.call_to_tech(race=race, first_places=0, drawn=0, seed=1, by=owner)
    undriven = race_factories.race_with_tech(race_factories.event(club, lanes=3))
    with pytest.raises(NobodyToCall):
        services.call_to_tech(race=undriven, first_places=3, drawn=1, seed=1, by=owner)


class TestPages:
    @pytest.fixture(autouse=True)
    def _signed_in(self, client, owner):
        client.force_login(owner)

    def url(self, name, race):
        return reverse(name, args=[race.event.club.slug, race.public_id])

    def test_from_the_call_to_the_confirmed_exclusion(self, client, race, owner):
        client.post(self.url("techcall-create", race), {"first_places": 1, "drawn": 1, "seed": 4471})
        page = client.get(self.url("techcall-detail", race)).content.decode()
        assert "seed 4471" in page
        assert "4471" in client.get(self.url("techcall-print", race) + "?as=page").content.decode()
        row = called_rows(race.tech_calls.get())[0]
        finding = after(race, row, "64.50", owner)
        asked = client.get(self.url("finding-confirm", race), {"finding": finding.pk}).content.decode()
        assert "Excluded from the race." in asked
        refused = client.post(self.url("finding-confirm", race), {"finding": finding.pk, "kind": "laps", "reason": "x"})
        assert refused.status_code == 422
        sent = {"finding": finding.pk, "kind": "exclusion", "reason": "Too wide after the race."}
        client.post(self.url("finding-confirm", race), sent)
        assert Penalty.objects.get().kind == "exclusion"

    def test_dismissing_asks_a_reason_and_shows_it(self, client, race, owner):
        call = services.call_to_tech(race=race, first_places=2, drawn=0, seed=1, by=owner)
        first, second = called_rows(call)
        after(race, first, "64.50", owner)
        finding = after(race, second, "64.60", owner)
        address = self.url("finding-dismiss", race)
        asked = client.get(address, {"finding": finding.pk}).content.decode()
        assert "64.60" in asked
        assert client.post(address, {"finding": finding.pk, "reason": ""}).status_code == 422
        client.post(address, {"finding": finding.pk, "reason": "The body was bent by a marshal."})
        page = client.get(self.url("techcall-detail", race)).content.decode()
        assert "The body was bent by a marshal." in page
        assert [one.finding.answer for one in proposals_of(race)] == ["64.50"]

    def test_without_a_call_the_page_says_so_and_prints_nothing(self, client, race):
        assert "Nobody has been called" in client.get(self.url("techcall-detail", race)).content.decode()
        assert client.get(self.url("techcall-print", race)).status_code == 404
