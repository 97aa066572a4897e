"""Names as people spell them."""

import pytest

from inspection.drivers import selectors
from inspection.drivers.services import accept_spelling
from inspection.models import Driver
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


def test_the_accepted_spelling_is_exact_whatever_case_accents_and_blanks(club):
    zoe = factories.driver(club, "Zoë Abernathy")
    assert selectors.match_name(club, "  zoe   ABERNATHY ").exact == zoe


@pytest.mark.parametrize(
    "spelling", ["Fairweather, Mo", "Mo Fairwether", "Mo Fairweahter", "M. Fairweather", "Moe Fairweather"]
)
def test_a_spelling_slightly_different_is_offered_and_never_decided(club, spelling):
    mo = factories.driver(club, "Mo Fairweather")
    match = selectors.match_name(club, spelling)
    assert match.exact is None
    assert match.near == (mo,)


@pytest.mark.parametrize("name", ["Lee Quarrie", "Mo", "", "!!!", "Noor Haddad"])
def test_another_name_is_not_offered(club, name):
    factories.driver(club, "Mo Fairweather")
    assert selectors.match_name(club, name) == selectors.Match(exact=None)


def test_two_near_names_are_both_offered_the_likelier_first(club):
    jan = factories.driver(club, "Jan Petersen")
    jon = factories.driver(club, "Jon Pietersen")
    assert selectors.match_name(club, "Jan Peterssen").near == (jan, jon)


def test_an_exact_spelling_is_not_put_in_doubt_by_those_who_look_alike(club):
    jan = factories.driver(club, "Jan Petersen")
    factories.driver(club, "Jan Peterson")
    assert selectors.match_name(club, "Jan Petersen") == selectors.Match(exact=jan)


def test_a_spelling_once_accepted_is_exact(club):
    mo = factories.driver(club, "Mo Fairweather")
    accept_spelling(driver=mo, name="Fairweather, Mo", by=None)
    assert selectors.match_name(club, "fairweather mo").exact == mo


def test_a_driver_of_another_club_is_never_found(club):
    factories.driver(factories.club(), "Mo Fairweather")
    assert selectors.match_name(club, "Mo Fairweather") == selectors.Match(exact=None)


def test_a_long_list_is_matched_with_one_query(club, django_assert_num_queries):
    for n in range(40):
        factories.driver(club, f"Person {n:02} Surname{n:02}")
    with django_assert_num_queries(1):
        index = selectors.name_index(club)
        for n in range(40):
            assert index.match(f"Person {n:02} Surname{n:02}").exact is not None


def test_a_long_import_compares_each_name_with_a_few_candidates_alone(club, monkeypatch):
    syllables = ["ba", "ke", "li", "mo", "nu", "ra", "se", "ti", "vo", "zu"]
    words = [a + b + c for a in syllables for b in syllables for c in syllables]
    known = [Driver(pk=n + 1, club=club, name=f"{words[n]} {words[-n]}") for n in range(500)]
    index = selectors.NameIndex((driver.name, driver) for driver in known)
    compared = []
    monkeypatch.setattr(selectors, "_likeness", lambda one, other: compared.append(one) or 0.0)
    for n in range(200):
        index.match(f"{words[n]} {words[(n * 7 + 3) % 991]}")
    assert 0 < len(compared) <= 12 * 200


def test_letters_find_the_beginning_of_any_word(club):
    mo = factories.driver(club, "Mo Fairweather")
    factories.driver(club, "Noor Haddad")
    assert selectors.drivers_by_letters(club, "fai") == [mo]
    assert selectors.drivers_by_letters(club, "mo f") == [mo]
    assert selectors.drivers_by_letters(club, "weather") == []
    assert selectors.drivers_by_letters(club, " ") == []


def test_a_driver_who_no_longer_comes_is_not_offered_by_letters(club):
    factories.driver(club, "Mo Fairweather", is_active=False)
    assert selectors.drivers_by_letters(club, "fai") == []
