"""What a characteristic is worked out from, its drawing, and what counts with it, as a club types them."""

import pytest
from django.urls import reverse

from inspection.gauges.services import install_register
from inspection.models import Characteristic, Role
from inspection.register.forms import CharacteristicForm
from tests import factories

pytestmark = pytest.mark.django_db

RATIO = {"name": "Final drive", "kind": "ratio", "group": "drive", "form": "ratio", "of": "spur or crown gear; Pinion"}


@pytest.fixture
def club():
    made = factories.club()
    install_register(club=made, by=None)
    return made


def test_a_ratio_is_worked_out_from_two_of_the_register_by_their_names(club):
    form = CharacteristicForm(RATIO, club=club)

    assert form.is_valid(), form.errors
    assert form.content().derivation == {"form": "ratio", "of": ["driven-gear-teeth", "pinion-teeth"]}


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"of": "Pinion"}, "of", "2 characteristics"),
        ({"of": "Pinion; No such gear"}, "of", "not in the register"),
        ({"form": "track", "of": "", "track_value": ""}, "track_value", "not one of"),
        ({"drawing": "a fine one"}, "drawing", "valid choice"),
    ],
)
def test_what_cannot_be_worked_out_is_said_at_its_field(club, fields, field, words):
    form = CharacteristicForm(RATIO | fields, club=club)

    assert not form.is_valid()
    assert words in str(form.errors[field])


def test_it_is_saved_and_shown_again(client, club):
    client.force_login(factories.member(club, Role.OWNER))
    spacing = {"name": "Spacing", "kind": "length", "unit": "mm", "group": "other", "form": "track"}
    more = {"track_value": "lane_spacing_mm", "drawing": "width", "counts_with": "tape does not count"}

    client.post(reverse("characteristic-create", args=[club.slug]), spacing | more)

    made = Characteristic.objects.get(club=club, code="spacing")
    assert (made.derivation, made.drawing) == ({"form": "track", "value": "lane_spacing_mm"}, "width")
    shown = CharacteristicForm(club=club, characteristic=made).initial
    assert (shown["form"], shown["track_value"], shown["counts_with"]) == (
        "track", "lane_spacing_mm", "tape does not count"
    )  # fmt: skip
