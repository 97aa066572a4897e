"""Chassis on their pages: entered with a caliper in hand, measured again, and what follows said at once."""

import pytest
from django.urls import reverse

from inspection.models import Chassis, Club, LogEntry, Role
from tests import factories

pytestmark = pytest.mark.django_db


def rows(prefix, *given):
    """The fields of a formset with these rows."""
    sent = {f"{prefix}-TOTAL_FORMS": len(given), f"{prefix}-INITIAL_FORMS": 0}
    for place, row in enumerate(given):
        sent |= {f"{prefix}-{place}-{name}": text for name, text in row.items()}
    return sent


def typed(pairs=(), corners=(), zones=(), **sizes):
    sent = {"name": "Saloon, sidewinder", "is_active": "on"}
    sent |= {f"size-{code}": text for code, text in sizes.items()}
    return sent | rows("pair", *pairs) | rows("corner", *corners) | rows("zone", *zones)


@pytest.fixture
def club(db):
    return factories.club()


@pytest.fixture
def signed_in(client, club):
    client.force_login(factories.member(club, Role.OWNER))
    return client


def test_sizes_are_read_in_any_unit_and_kept_as_typed(signed_in, club):
    sent = typed(
        layout="sidewinder", across_shafts="14.24", axle_diameter="3/32 in", motor_shaft="2 mm", mass="21",
        zones=[{"name": "under the motor", "begin": "-4", "end": "20", "most": "6"}],
        corners=[{"back": "10", "side": "0"}],
    )  # fmt: skip

    answer = signed_in.post(reverse("chassis-create", args=[club.slug]), sent)

    made = Chassis.objects.get()
    assert answer.status_code == 302
    assert answer["Location"] == reverse("chassis-detail", args=[club.slug, made.public_id])
    assert made.sizes == {
        "layout": "sidewinder", "across_shafts": "14.24 mm", "axle_diameter": "3/32 in", "motor_shaft": "2 mm",
        "mass": "21 g",
    }  # fmt: skip
    assert made.zones == [{"name": "under the motor", "begin": "-4 mm", "end": "20 mm", "most": "6 g"}]
    assert made.corners == [{"back": "10 mm", "side": "0 mm"}]
    assert LogEntry.objects.get(subject_type="Chassis").action == "entered chassis"


def test_a_bare_number_is_in_inches_where_the_club_measures_so_and_a_comma_is_a_mark(client):
    club = factories.club(units=Club.Units.INCH, decimal_mark=",")
    client.force_login(factories.member(club, Role.OWNER))

    client.post(reverse("chassis-create", args=[club.slug]), typed(wheelbase="3,5", rear_bushing_span="30,2 mm"))

    assert Chassis.objects.get().sizes == {"wheelbase": "3.5 in", "rear_bushing_span": "30.2 mm"}


def test_what_cannot_be_read_is_said_at_its_field_and_nothing_typed_is_lost(signed_in, club):
    answer = signed_in.post(reverse("chassis-create", args=[club.slug]), typed(wheelbase="long", mass="0", wall="15"))

    form = answer.context["form"]
    assert answer.status_code == 422
    assert set(form.errors) == {"size-wheelbase", "size-mass"}
    assert 'value="15"' in answer.content.decode()
    assert not Chassis.objects.exists()


def test_half_a_row_asks_for_its_other_half(signed_in, club):
    sent = typed(pairs=[{"pinion_teeth": "11", "gear_teeth": ""}], zones=[{"begin": "3"}])

    form = signed_in.post(reverse("chassis-create", args=[club.slug]), sent).context["form"]

    assert set(form.pairs.forms[0].errors) == {"gear_teeth", "pinion_diameter"}
    assert set(form.zones.forms[0].errors) == {"name", "end"}


def test_a_name_stands_once_in_a_club(signed_in, club):
    factories.chassis(club, name="Saloon, sidewinder")

    answer = signed_in.post(reverse("chassis-create", args=[club.slug]), typed())

    assert answer.status_code == 409
    assert "already" in answer.context["form"].errors["name"][0]


def test_what_follows_is_said_while_it_is_typed_and_saves_nothing(signed_in, club):
    sent = typed(across_shafts="14.24", motor_shaft="2", axle_diameter="2.38", rear_bushing_span="30",
                 rear_body_width="62.4")  # fmt: skip

    words = signed_in.post(reverse("chassis-echo", args=[club.slug]), sent).content.decode()

    assert "12.05 mm" in words
    assert "16.20 mm" in words
    assert not Chassis.objects.exists()


def test_without_a_script_a_button_says_what_follows(signed_in, club):
    sent = typed(center_distance="12.05") | {"look": "yes"}

    answer = signed_in.post(reverse("chassis-create", args=[club.slug]), sent)

    assert answer.status_code == 200
    assert [line.value for line in answer.context["form"].follows] == ["12.05 mm (0.474 in)"]
    assert not Chassis.objects.exists()


def test_who_saves_second_is_told_and_may_save_over(signed_in, club):
    chassis = factories.chassis(club)
    address = reverse("chassis-edit", args=[club.slug, chassis.public_id])
    opened = signed_in.get(address).context["form"].initial["version"]
    Chassis.objects.filter(pk=chassis.pk).update(note="measured by Lou")

    refused = signed_in.post(address, typed(wall="15.1") | {"version": opened})
    again = typed(wall="15.1") | {"version": refused.context["form"].data["version"]}
    taken = signed_in.post(address, again)

    assert refused.status_code == 409
    assert taken.status_code == 302
    assert Chassis.objects.get().sizes == {"wall": "15.1 mm"}


def test_a_record_comes_back_into_its_form_as_it_was_typed(signed_in, club):
    pair = {"pinion": {"teeth": "11", "outside_diameter": "6.5 mm"}, "driven_gear": {"teeth": "35"}}
    chassis = factories.chassis(club, runs_free=[pair], zones=[{"name": "nose", "begin": "80 mm", "end": "90 mm"}])
    address = reverse("chassis-edit", args=[club.slug, chassis.public_id])

    form = signed_in.get(address).context["form"]
    sizes = {code.removeprefix("size-"): text for code, text in form.initial.items() if code.startswith("size-")}
    sent = typed(**sizes, pairs=[form.pairs.forms[0].initial], zones=[form.zones.forms[0].initial])
    signed_in.post(address, sent | {"name": chassis.name, "version": form.initial["version"]})

    saved = Chassis.objects.get()
    assert (saved.sizes, saved.runs_free, saved.zones) == (chassis.sizes, chassis.runs_free, chassis.zones)


def test_the_page_of_a_chassis_shows_what_is_known_in_both_systems(signed_in, club):
    chassis = factories.chassis(club)

    page = signed_in.get(reverse("chassis-detail", args=[club.slug, chassis.public_id])).content.decode()

    assert "62.4" in page or "62.40" in page
    assert "2.457 in" in page


def test_the_list_asks_no_more_of_the_database_when_it_grows(signed_in, club, django_assert_max_num_queries):
    for _ in range(30):
        factories.chassis(club)

    with django_assert_max_num_queries(8):
        answer = signed_in.get(reverse("chassis-list", args=[club.slug]))

    assert answer.content.decode().count("12.05 mm") == 30
