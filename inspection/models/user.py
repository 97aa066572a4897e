"""The person who signs in. A driver is not a user; a driver may be linked to one."""

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _


class User(AbstractUser):
    """Signs in by a short name; what they may do is a matter of their roles in each club."""

    first_name = None
    last_name = None
    name = models.CharField(_("name"), max_length=120, blank=True)

    objects = UserManager()

    REQUIRED_FIELDS = []

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("username"), name="user_username_unique_whatever_case"),
        ]

    def __str__(self) -> str:
        return self.name or self.username

    def get_full_name(self) -> str:
        """Django's own callers ask for this."""
        return str(self)

    def get_short_name(self) -> str:
        """Django's own callers ask for this."""
        return str(self)
