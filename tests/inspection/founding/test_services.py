"""The code of the first run, and what a refused founding leaves behind: nothing."""

import stat

import pytest

from inspection.clubs.errors import Refused
from inspection.clubs.services import ClubContent
from inspection.founding.errors import FoundedAlready, WrongCode
from inspection.founding.services import CODE_FILE, check_code, first_run_code, found_club
from inspection.models import Club, User
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"


def found(**changes):
    return found_club(
        **{
            "code": first_run_code(),
            "slug": "quarry",
            "content": ClubContent(name="Quarry Hall"),
            "track_name": "Main",
            "lane_names": ("White", "Red"),
            "username": "noor",
            "name": "",
            "password": "a lane of her own",
        }
        | changes
    )


def test_the_code_stays_the_same_until_a_club_stands(django_capture_on_commit_callbacks, settings):
    code = first_run_code()

    assert len(code) == 12
    assert first_run_code() == code
    with django_capture_on_commit_callbacks(execute=True):
        found(code=code)
    assert first_run_code() == ""
    assert not (settings.DATA_DIR / CODE_FILE).exists()


def test_only_its_owner_may_read_the_code(settings):
    first_run_code()

    assert stat.S_IMODE((settings.DATA_DIR / CODE_FILE).stat().st_mode) == 0o600


def test_the_code_may_be_typed_in_capitals_and_in_groups():
    code = first_run_code()

    check_code(f" {code[:4].upper()}-{code[4:8]} {code[8:]} ")


@pytest.mark.parametrize("typed", ["", "bcdfghjkmnpq", "é", "0" * 400])
def test_another_code_is_refused(typed):
    first_run_code()

    with pytest.raises(WrongCode):
        check_code(typed)


def test_no_code_fits_before_one_is_made():
    with pytest.raises(WrongCode):
        check_code("")


def test_a_second_club_is_refused():
    code = first_run_code()
    factories.club()

    with pytest.raises(FoundedAlready):
        found(code=code)


def test_a_founding_refused_half_way_leaves_nothing(settings):
    factories.user("noor")

    with pytest.raises(Refused):
        found()

    assert not Club.objects.exists()
    assert User.objects.count() == 1
    assert (settings.DATA_DIR / CODE_FILE).exists()
