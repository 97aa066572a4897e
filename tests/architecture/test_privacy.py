"""Who does not work for the club reads public names, and nothing that it keeps for itself.

Every page that anybody may read is read signed out and as a driver, and so are its files, its paper and its parts.
"""

import io

import pytest
from openpyxl import load_workbook

from inspection.models import Build, Car, Driver, Role
from racedesk.models import Entry, Payment, Race
from racedesk.results.services import correct_results
from tests import factories, race_factories
from tests.addresses import ADDRESSES, MEMBER, PUBLIC, url_of

SECRETS = ["Fullname", "contact-of", "note-on-driver", "note-on-car", "note-on-build", "note-on-payment", "4711.99"]
WAYS = ["", "export=csv", "export=xlsx", "as=page"]


@pytest.fixture
def club_with_secrets(club):
    """Everybody has a public name, and everything that is private says so."""
    for driver in Driver.objects.of(club):
        driver.name, driver.public_name = f"Fullname {driver.pk}", f"Comet {driver.pk}"
        driver.contact, driver.note, driver.is_junior = f"contact-of {driver.pk}", "note-on-driver", True
        driver.save()
    Car.objects.of(club).update(note="note-on-car")
    Build.objects.of(club).update(note="note-on-build")
    Entry.objects.of(club).update(fee_due="4711.99")
    race = Race.objects.of(club).filter(result_sheets__isnull=False).get()
    paid = Payment.objects.of(club).get()
    Payment.objects.create(
        event=race.event, driver=paid.driver, entry=paid.entry, kind="paid", amount=1, note="note-on-payment"
    )
    race_factories.entry(race, Driver.objects.of(club).filter(entries__isnull=True).first(), state="no_show")
    correct_results(race=race, change_note="names", by=None)
    return club


def text_of(response):
    if response["Content-Type"].startswith("application/vnd.openxmlformats"):
        sheet = load_workbook(io.BytesIO(response.content)).active
        return " ".join(str(cell.value) for row in sheet.iter_rows() for cell in row)
    if response["Content-Type"].startswith("image/"):
        return ""
    return response.content.decode()


@pytest.mark.parametrize("role", [None, Role.DRIVER])
def test_public_names_stand_wherever_everybody_reads(client, club_with_secrets, role):
    club = club_with_secrets
    readable = {PUBLIC}
    if role:
        client.force_login(factories.member(club, role))
        readable.add(MEMBER)
    told, comets = {}, 0

    for name, address in ADDRESSES.items():
        if address.who not in readable or address.posts:
            continue
        url = url_of(name, club)
        for way in WAYS:
            if name.endswith("-print") and way != "as=page":
                continue  # the same page as PDF
            shown = text_of(client.get(f"{url}{'&' if '?' in url else '?'}{way}"))
            comets += "Comet" in shown
            if found := [secret for secret in SECRETS if secret in shown]:
                told[name, way] = found

    assert told == {}
    assert comets > 20
