"""What every aggregate has: a club, and a random public id, so that addresses give nothing away."""

import secrets
from typing import Any, Self

from django.contrib.auth.models import AnonymousUser
from django.db import models

from inspection.models.user import User

# No vowels and no look-alikes: ids are read aloud and typed by hand from paper.
ALPHABET = "23456789bcdfghjkmnpqrstvwxz"


def new_public_id() -> str:
    """Ten letters and digits, about 47 random bits."""
    return "".join(secrets.choice(ALPHABET) for _ in range(10))


class PublicIdField(models.CharField):
    """The random id that stands in addresses and QR codes."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(**({"max_length": 10, "unique": True, "default": new_public_id, "editable": False} | kwargs))


class ClubQuerySet(models.QuerySet):
    """Rows that belong to a club, directly or by the path that `club_path` names."""

    club_path = "club"

    def of(self, club: models.Model) -> Self:
        """The rows of one club."""
        return self.filter(**{self.club_path: club})

    def hold(self, pk: int, *related: str) -> Any:
        """The row as it stands, held until the transaction ends: who else wants it waits. 2 queries.

        Loaded after the wait, because in the query that waits PostgreSQL gives joined rows as they were before it.
        Held less than for a deletion, so that new rows may point at it meanwhile. On SQLite the transaction holds all.
        """
        self.select_for_update(no_key=True).only("pk").get(pk=pk)
        return self.select_related(*related).get(pk=pk) if related else self.get(pk=pk)

    def visible_to(self, user: User | AnonymousUser) -> Self:
        """The rows of the clubs in which this user holds any role."""
        if not user.is_authenticated:
            return self.none()
        return self.filter(**{f"{self.club_path}__memberships__user": user}).distinct()


class ClubOwned(models.Model):
    """Abstract: one aggregate of one club."""

    club = models.ForeignKey("inspection.Club", on_delete=models.CASCADE, related_name="+")
    public_id = PublicIdField()

    objects = ClubQuerySet.as_manager()

    class Meta:
        abstract = True
