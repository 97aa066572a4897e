"""Photographs of a card: taken for what their first bytes say they are, kept small, shown to members only."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspection.inspections.services import open_inspection
from inspection.models import Photo, Role
from inspection.photos import services
from inspection.photos.errors import NotAPhoto, PhotoOfAnotherCard, PhotoTooLarge, TooManyPhotos
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db

JPEG = b"\xff\xd8\xff\xe0" + b"\0" * 60
PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 60
WEBP = b"RIFF\x24\0\0\0WEBPVP8 " + b"\0" * 60


def sent(data, name="photo.jpg", claims="image/jpeg"):
    return SimpleUploadedFile(name, data, content_type=claims)


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR)


@pytest.fixture
def card(club, inspector):
    return open_inspection(
        occasion=worlds.occasion(club, worlds.WIDTH), car=factories.car(club), phase="before", by=inspector
    )


@pytest.mark.parametrize(
    ("data", "kind"), [(JPEG, "image/jpeg"), (PNG, "image/png"), (WEBP, "image/webp")], ids=["jpeg", "png", "webp"]
)
def test_its_first_bytes_say_what_it_is(card, inspector, data, kind):
    kept = services.attach_photo(inspection=card, photo=sent(data, claims="text/html"), note=" seal ", by=inspector)
    assert (kept.media_type, bytes(kept.data), kept.note) == (kind, data, "seal")


@pytest.mark.parametrize(
    "data",
    [b"", b"GIF89a" + b"\0" * 40, b"<svg onload=alert(1)>", b"RIFF\x24\0\0\0WAVEfmt ", b"%PDF-1.7", b"\xff\xd8"],
    ids=["nothing", "gif", "svg", "sound", "pdf", "too short"],
)
def test_anything_else_is_refused_whatever_it_claims_to_be(card, inspector, data):
    with pytest.raises(NotAPhoto):
        services.attach_photo(inspection=card, photo=sent(data), by=inspector)
    assert not Photo.objects.exists()


def test_a_photo_that_is_too_large_is_refused_with_its_size(card, inspector):
    with pytest.raises(PhotoTooLarge, match="4 MB"):
        services.attach_photo(inspection=card, photo=sent(JPEG + b"\0" * services.MOST_BYTES), by=inspector)


def test_a_card_keeps_so_many_and_only_its_own_clauses(card, inspector, club, monkeypatch):
    other = worlds.clauses_of(worlds.occasion(club, worlds.WIDTH))[0]
    with pytest.raises(PhotoOfAnotherCard):
        services.attach_photo(inspection=card, photo=sent(JPEG), clause=other, by=inspector)
    monkeypatch.setattr(services, "MOST_PHOTOS", 1)
    services.attach_photo(inspection=card, photo=sent(JPEG), by=inspector)
    with pytest.raises(TooManyPhotos):
        services.attach_photo(inspection=card, photo=sent(JPEG), by=inspector)


class TestPages:
    def url(self, card, photo=None):
        slug = card.occasion.club.slug
        if photo is None:
            return reverse("photo-list", args=[slug, card.public_id])
        return reverse("photo-detail", args=[slug, card.public_id, photo.public_id])

    def test_an_inspector_takes_one_and_members_see_it(self, client, club, card, inspector):
        client.force_login(inspector)
        clause = worlds.clauses_of(card.occasion)[0]
        answer = client.post(
            self.url(card), {"photo": sent(JPEG), "clause": clause.pk, "note": "worn tire"}, follow=True
        )
        assert "worn tire" in answer.content.decode()
        photo = Photo.objects.get()
        client.force_login(factories.member(club, Role.DRIVER))
        picture = client.get(self.url(card, photo))
        assert (picture.content, picture["Content-Type"]) == (JPEG, "image/jpeg")
        assert picture["X-Content-Type-Options"] == "nosniff"
        assert "sandbox" in picture["Content-Security-Policy"]
        assert "private" in picture["Cache-Control"]
        assert client.post(self.url(card), {"photo": sent(JPEG)}).status_code == 403
        assert Photo.objects.count() == 1

    def test_nobody_else_sees_it(self, client, card, inspector):
        photo = services.attach_photo(inspection=card, photo=sent(JPEG), by=inspector)
        assert client.get(self.url(card, photo)).status_code == 302
        client.force_login(factories.member(factories.club()))
        assert client.get(self.url(card, photo)).status_code == 404

    def test_a_file_that_is_no_photo_is_said_on_the_page(self, client, card, inspector):
        client.force_login(inspector)
        answer = client.post(self.url(card), {"photo": sent(b"<svg>"), "note": "seal"})
        assert answer.status_code == 422
        assert "no JPEG, PNG or WebP picture" in answer.content.decode()
        assert client.post(self.url(card), {}).status_code == 422
