"""Keep a photograph taken at tech. What it is, its first bytes say: neither its name nor what the browser claims."""

from typing import Final

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from inspection.clubs.services import write_log
from inspection.models import Clause, Inspection, Photo, User
from inspection.photos.errors import NotAPhoto, PhotoOfAnotherCard, PhotoTooLarge, TooManyPhotos

MOST_BYTES: Final = 4 * 1024 * 1024
MOST_PHOTOS: Final = 40
MEDIA_TYPES: Final = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}  # with the ending of a file name


def media_type_of(start: bytes) -> str | None:
    """The media type by the first bytes (12 do), or None for anything but JPEG, PNG and WebP.

    Signatures: ISO/IEC 10918-1 (SOI and the next marker), ISO/IEC 15948 5.2, RFC 9649 section 2.4 (from memory).
    """
    if start.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if start.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if start[:4] == b"RIFF" and start[8:12] == b"WEBP":
        return "image/webp"
    return None


@transaction.atomic
def attach_photo(
    *, inspection: Inspection, photo: UploadedFile, clause: Clause | None = None, note: str = "", by: User
) -> Photo:
    """Attach a photograph to a card, of the whole car or of what one clause is about.

    Refuses PhotoTooLarge (before it is read), NotAPhoto, PhotoOfAnotherCard and TooManyPhotos.
    """
    if (photo.size or 0) > MOST_BYTES:
        megabytes = f"{(photo.size or 0) / 1024 / 1024:.1f}"
        raise PhotoTooLarge(size=megabytes, most=MOST_BYTES // 1024 // 1024)
    card = Inspection.objects.hold(inspection.pk, "occasion__club")
    if clause is not None and clause.revision_id != card.occasion.revision_id:
        raise PhotoOfAnotherCard
    if card.photos.count() >= MOST_PHOTOS:
        raise TooManyPhotos(most=MOST_PHOTOS)
    data = photo.read(MOST_BYTES + 1)
    media_type = media_type_of(data[:12])
    if media_type is None:
        raise NotAPhoto
    kept = Photo.objects.create(
        inspection=card, clause=clause, data=data, media_type=media_type, note=note.strip()[:200], by=by
    )
    write_log(club=card.occasion.club, action="attached photo", subject=card, by=by, photo=kept.public_id)
    return kept
