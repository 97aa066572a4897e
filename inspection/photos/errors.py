"""What is not taken as a photograph."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NotAPhoto(Refused):
    code = "not_a_photo"
    message = _("That is no JPEG, PNG or WebP picture. Take the photo with the phone's camera and send it again.")


class PhotoTooLarge(Refused):
    code = "photo_too_large"
    message = _("The photo has {size} MB; at most {most} MB are kept. Send it smaller.")


class TooManyPhotos(Refused):
    code = "too_many_photos"
    message = _("This card has {most} photos already, which is the most it keeps.")


class PhotoOfAnotherCard(Refused):
    code = "photo_of_another_card"
    message = _("That clause is not on this card.")
