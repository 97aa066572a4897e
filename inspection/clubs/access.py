"""Who may do what in a club: the table of roles, the backend that reads it, and the decorator every club page wears.

A page needs signing in unless it says `public=True`. Who holds no role in a club does not learn what it has: 404.
Who holds a role without the permission is told so: 403.
"""

import functools
import zoneinfo
from collections.abc import Callable, Iterable
from typing import Any

from django.conf import settings
from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.urls import NoReverseMatch, reverse
from django.utils import timezone, translation

from inspection.models import Club, Membership, Role, User

_STAFF = {Role.OWNER, Role.RACE_DIRECTOR, Role.TECH_INSPECTOR, Role.ENTRY_DESK}

PERMISSIONS: dict[str, frozenset[str]] = {
    # who may read what the public may not: full names, contacts, fees, drafts
    "club.view_private": frozenset(_STAFF),
    "club.manage": frozenset({Role.OWNER}),
    "club.read_log": frozenset({Role.OWNER, Role.RACE_DIRECTOR}),
    "club.write_rules": frozenset({Role.OWNER, Role.RACE_DIRECTOR}),
    "club.manage_tracks": frozenset({Role.OWNER, Role.RACE_DIRECTOR}),
    "club.manage_gauges": frozenset({Role.OWNER, Role.RACE_DIRECTOR, Role.TECH_INSPECTOR}),
    "club.manage_drivers": frozenset({Role.OWNER, Role.RACE_DIRECTOR, Role.ENTRY_DESK}),
    "club.manage_cars": frozenset(_STAFF),
    # the bench: parts, chassis, bench sheets, runs and prep sheets
    "club.use_bench": frozenset(_STAFF),
    # what is sold and repaired: prices of work, customers and what they paid
    "club.keep_shop": frozenset({Role.OWNER, Role.RACE_DIRECTOR, Role.ENTRY_DESK}),
    "club.inspect": frozenset({Role.OWNER, Role.RACE_DIRECTOR, Role.TECH_INSPECTOR}),
    "club.plan_events": frozenset({Role.OWNER, Role.RACE_DIRECTOR}),
    "club.run_desk": frozenset({Role.OWNER, Role.RACE_DIRECTOR, Role.ENTRY_DESK}),
    # the director's own decisions: a late entry, a car that races although tech has not cleared it
    "club.direct": frozenset({Role.OWNER, Role.RACE_DIRECTOR}),
    "club.run_heats": frozenset({Role.OWNER, Role.RACE_DIRECTOR}),
    "club.publish_results": frozenset({Role.OWNER, Role.RACE_DIRECTOR}),
}


def roles_in(user: User | AnonymousUser, club: Club) -> frozenset[str]:
    """The roles of this user in this club. One query the first time; kept on the user for the request."""
    if not user.is_authenticated:
        return frozenset()
    known: dict[int, frozenset[str]] = user.__dict__.setdefault("_roles_by_club", {})
    if club.pk not in known:
        rows = Membership.objects.filter(club=club, user=user).values_list("role", flat=True)
        known[club.pk] = frozenset(rows)
    return known[club.pk]


def permissions_of(roles: Iterable[str]) -> frozenset[str]:
    """Every permission that one of these roles gives."""
    held = set(roles)
    return frozenset(permission for permission, given_to in PERMISSIONS.items() if held & given_to)


class ClubBackend(ModelBackend):
    """Signs people in by name and password, and answers `user.has_perm("club.inspect", club)`.

    The object is a club, or anything with a `club`.
    """

    def has_perm(self, user_obj: Any, perm: str, obj: Any = None) -> bool:
        if obj is None or perm not in PERMISSIONS or not user_obj.is_active:
            return False
        club = obj if isinstance(obj, Club) else obj.club
        return bool(roles_in(user_obj, club) & PERMISSIONS[perm])


def club_page(
    permission: str | None = None, *, public: bool = False, methods: Iterable[str] = ("GET",)
) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """Turn `view(request, club, ...)` into a page of the club whose short name stands in the address.

    permission: one of PERMISSIONS, or None for every member. public: nobody need sign in.
    The club's time zone and language hold for the length of the request.
    """
    if permission is not None and permission not in PERMISSIONS:
        raise ValueError(permission)
    allowed = tuple(methods) + (("HEAD",) if "GET" in methods else ())

    def decorate(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @functools.wraps(view)
        def wrapper(request: HttpRequest, club: str, *args: Any, **kwargs: Any) -> HttpResponse:
            if request.method not in allowed:
                return HttpResponseNotAllowed(allowed)
            found = Club.objects.filter(slug=club).first()
            if found is None:
                raise Http404
            if not public:
                roles = roles_in(request.user, found)
                if not roles:
                    raise Http404
                if permission and permission not in permissions_of(roles):
                    raise PermissionDenied
            request.club = found
            with timezone.override(zoneinfo.ZoneInfo(found.time_zone)), translation.override(found.language):
                response = view(request, found, *args, **kwargs)
                # A TemplateResponse must be rendered while the club's zone and language hold.
                return response.render() if hasattr(response, "render") else response

        wrapper.login_required = not public
        wrapper.club_permission = None if public else (permission or "member")
        return wrapper

    return decorate


def navigation_for(club: Club, permissions: frozenset[str]) -> list[dict[str, str]]:
    """The words of the running head that this visitor may use, with their addresses."""
    items = []
    for label, name, permission in settings.NAVIGATION:
        if permission is not None and permission not in permissions:
            continue
        try:
            items.append({"label": label, "name": name, "url": reverse(name, args=[club.slug])})
        except NoReverseMatch:  # the inspection side alone serves fewer pages than the whole
            continue
    return items


def club_context(request: HttpRequest) -> dict[str, Any]:
    """Template variables of every club page: club, allowed (permissions), navigation."""
    club = getattr(request, "club", None)
    if club is None:
        return {"club": None, "allowed": frozenset(), "navigation": []}
    allowed = permissions_of(roles_in(request.user, club))
    return {"club": club, "allowed": allowed, "navigation": navigation_for(club, allowed)}
