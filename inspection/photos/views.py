"""Photographs of a card: take one, look at them. For members only."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club, Inspection
from inspection.photos import services
from inspection.photos.forms import PhotoForm
from inspection.photos.selectors import photos_of


def _card(club: Club, public_id: str) -> Inspection:
    found = Inspection.objects.of(club).select_related("occasion__club", "occasion__revision", "car__owner")
    return get_object_or_404(found, public_id=public_id)


@club_page(methods=("GET", "POST"))
def photo_list(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The photographs of a card; an inspector takes more."""
    card = _card(club, public_id)
    can_inspect = request.user.has_perm("club.inspect", club)
    sent = request.method == "POST" and can_inspect
    form = PhotoForm(request.POST or None, request.FILES or None, inspection=card)
    if sent and form.is_valid():
        try:
            services.attach_photo(inspection=card, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The photo is on the card."))
            return redirect("photo-list", club=club.slug, public_id=public_id)
    context = {"card": card, "photos": photos_of(card), "form": form if can_inspect else None, "here": "event-list"}
    status = 403 if request.method == "POST" and not can_inspect else 422 if sent else 200
    return render(request, "inspection/photos/photo_list.html", context, status=status)


@club_page()
def photo_detail(request: HttpRequest, club: Club, public_id: str, photo: str) -> HttpResponse:
    """The picture itself, as the kind it was found to be and nothing else."""
    found = get_object_or_404(_card(club, public_id).photos, public_id=photo)
    ending = services.MEDIA_TYPES.get(found.media_type, "bin")
    kind = found.media_type if found.media_type in services.MEDIA_TYPES else "application/octet-stream"
    response = HttpResponse(bytes(found.data), content_type=kind)
    response["Content-Disposition"] = f'inline; filename="photo-{found.public_id}.{ending}"'
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response["Cache-Control"] = "private, max-age=3600"
    return response
