"""The photographs of a card: read only."""

from django.db.models import QuerySet

from inspection.models import Inspection, Photo


def photos_of(inspection: Inspection) -> QuerySet[Photo]:
    """The photographs of a card, the oldest first, without the pictures themselves. One query."""
    return inspection.photos.defer("data").select_related("clause__characteristic", "by").order_by("at", "id")
