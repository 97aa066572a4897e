"""Find drivers: by the spelling of a name, exactly or nearly, and for the list of them."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import SequenceMatcher

from django.db.models import Count, QuerySet

from inspection.models import Car, Club, Driver, DriverSpelling, User, name_key

MOST_NEAR = 5
_ALIKE = 0.75  # share of letters in common from which two spellings may be one person


@dataclass(frozen=True, slots=True)
class Match:
    """Whose name this may be. exact: by an accepted spelling; else near: who may be meant, the likeliest first."""

    exact: Driver | None
    near: tuple[Driver, ...] = ()


def _pairs(key: str) -> set[str]:
    """The pairs of neighboring letters of the words of a key, each word marked at both ends."""
    marked = [f"^{word}$" for word in key.split()]
    return {word[i : i + 2] for word in marked for i in range(len(word) - 1)}


def _likeness(one: str, other: str) -> float:
    """From 0 to 1: how likely two keys are spellings of one name. Word order does not count."""
    first, second = sorted(one.split()), sorted(other.split())
    if first == second:
        return 1.0
    if _is_shortened(one.split(), other.split()) or _is_shortened(other.split(), one.split()):
        return 0.9
    return max(
        SequenceMatcher(None, " ".join(first), " ".join(second)).ratio(),
        SequenceMatcher(None, one, other).ratio(),
    )


def _is_shortened(short: list[str], full: list[str]) -> bool:
    """Is `short` the same words with some as initials ("m fairweather"), at least one word standing in full?"""
    if len(short) != len(full) or len(short) < 2:
        return False
    same = sum(a == b for a, b in zip(short, full, strict=True))
    return same > 0 and all(a == b or (len(a) == 1 and b.startswith(a)) for a, b in zip(short, full, strict=True))


class NameIndex:
    """The accepted spellings of a club, read once, so that a long list is matched without a query a row."""

    def __init__(self, spellings: Iterable[tuple[str, Driver]]) -> None:
        self._driver_by_key: dict[str, Driver] = {}
        self._keys_by_pair: dict[str, set[str]] = {}
        self._size: dict[str, int] = {}
        self._known: dict[str, Match] = {}
        for key, driver in spellings:
            self.add(key, driver)

    def add(self, key: str, driver: Driver) -> None:
        """Take in one more spelling, for a list that makes drivers as it goes."""
        pairs = _pairs(key)
        self._driver_by_key[key] = driver
        self._size[key] = len(pairs)
        for pair in pairs:
            self._keys_by_pair.setdefault(pair, set()).add(key)
        self._known.clear()

    def match(self, name: str) -> Match:
        """Whose name this may be; no query. A blank name matches nobody."""
        key = name_key(name)
        if key not in self._known:
            self._known[key] = self._match(key)
        return self._known[key]

    def _match(self, key: str) -> Match:
        if not key:
            return Match(exact=None)
        exact = self._driver_by_key.get(key)
        if exact is not None:
            return Match(exact=exact)
        pairs = _pairs(key)
        shared: Counter[str] = Counter()
        for pair in pairs:
            shared.update(self._keys_by_pair.get(pair, ()))
        # Keys with less than two fifths of their pairs in common are never alike enough below; of the others the
        # closest few are worth the careful look.
        closeness = {other: 2 * n / (len(pairs) + self._size[other]) for other, n in shared.items()}
        worth = sorted((other for other in closeness if closeness[other] >= 0.4), key=closeness.__getitem__)[-12:]
        likeness: dict[int, float] = {}
        drivers: dict[int, Driver] = {}
        for other in worth:
            driver = self._driver_by_key[other]
            score = _likeness(key, other)
            if score >= _ALIKE:
                likeness[driver.pk] = max(score, likeness.get(driver.pk, 0.0))
                drivers[driver.pk] = driver
        order = sorted(drivers.values(), key=lambda driver: (-likeness[driver.pk], driver.name))
        return Match(exact=None, near=tuple(order[:MOST_NEAR]))


def name_index(club: Club) -> NameIndex:
    """Every accepted spelling of the club's drivers. One query."""
    rows = DriverSpelling.objects.filter(club=club).select_related("driver").order_by("key")
    return NameIndex((row.key, row.driver) for row in rows)


def match_name(club: Club, name: str) -> Match:
    """Whose name this may be: an accepted spelling, or near ones to offer. Never decides between them. One query."""
    return name_index(club).match(name)


def drivers_by_letters(club: Club, letters: str, *, most: int = 8) -> list[Driver]:
    """Drivers in use with a word of a spelling that begins with these letters, by name. One query.

    "fai" finds Mo Fairweather; "mo f" finds him too.
    """
    key = name_key(letters)
    if not key:
        return []
    rows = DriverSpelling.objects.filter(club=club, driver__is_active=True, key__contains=key).select_related("driver")
    found = {row.driver_id: row.driver for row in rows if f" {row.key}".find(f" {key}") >= 0}
    return sorted(found.values(), key=lambda driver: driver.name.casefold())[:most]


def driver_list(club: Club) -> QuerySet[Driver]:
    """Drivers with `car_count`, for the list; one query."""
    return Driver.objects.of(club).annotate(car_count=Count("cars")).select_related("user").order_by("name")


def driver_rows(club: Club, letters: str = "") -> QuerySet[Driver]:
    """The list, narrowed to the drivers a word of whose spellings begins with these letters. Two queries at most."""
    rows = driver_list(club)
    if not letters.strip():
        return rows
    key = name_key(letters)
    spellings = DriverSpelling.objects.filter(club=club, key__contains=key) if key else DriverSpelling.objects.none()
    return rows.filter(pk__in=[row.driver_id for row in spellings if f" {row.key}".find(f" {key}") >= 0])


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverCard:
    """What the page of a driver shows. entry_count: None where only tech is done here and no races are kept."""

    driver: Driver
    cars: list[Car]
    spellings: list[DriverSpelling]
    entry_count: int | None

    @property
    def own_key(self) -> str:
        """The spelling of the driver's own name, which stays."""
        return name_key(self.driver.name)


def driver_card(driver: Driver) -> DriverCard:
    """A driver with cars, spellings and the number of entries. Three queries when the driver is loaded."""
    entries = getattr(driver, "entries", None)  # the race side's, which this side can do without
    return DriverCard(
        driver=driver,
        cars=list(driver.cars.select_related("racing_class").order_by("-is_active", "number")),
        spellings=list(driver.spellings.order_by("key")),
        entry_count=entries.count() if entries is not None else None,
    )


def users_to_link(driver: Driver) -> QuerySet[User]:
    """Members of the club who are no other driver of it, by name. One query."""
    others = Driver.objects.of(driver.club).filter(user__isnull=False).exclude(pk=driver.pk)
    members = User.objects.filter(memberships__club=driver.club).exclude(pk__in=others.values("user"))
    return members.distinct().order_by("name", "username")
