"""Who marshals when: a roster of posts from a plan."""

from collections import deque
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from racedesk.rotation.errors import RosterError
from racedesk.rotation.plan import Plan

Roster = tuple[tuple[int | None, ...], ...]


def roster(
    plan: Plan,
    *,
    posts: int,
    exempt: Collection[int] = (),
    posts_adults: Sequence[bool] = (),
    posts_held: Sequence[bool] = (),
    juniors: Collection[int] = (),
    just_driven: Collection[int] = (),
    served: Mapping[int, int] | None = None,
) -> Roster:
    """Who stands at which post in each heat: one row a heat, one driver's number or None a post.

    posts: how many marshal posts the track has, 0 or more. exempt: drivers who do not marshal. posts_adults:
    by post, whether only adults may stand there (none unless said). posts_held: by post, whether a helper who does
    not drive stands there, so that it stays None here. juniors: drivers who may not go where only adults may.
    just_driven, served: for the rest of a night: who drove in the heat before the first of the plan, and how many
    duties each has had.

    Nobody marshals while driving. As many posts are filled as can be. Those who have just driven come first,
    then those with fewer duties, then those whose next run is furthest off, so that who races soonest is
    relieved first. Then duties are handed over until they are as even as the field allows: within one wherever
    that can be done without leaving a post empty. Who stays on from one heat to the next keeps the post. The
    same plan gives the same roster.

    Raises RosterError.
    """
    adults_only = tuple(posts_adults) or (False,) * max(posts, 0)
    held = tuple(posts_held) or (False,) * max(posts, 0)
    if posts < 0 or len(adults_only) != posts or len(held) != posts:
        message = f"{posts} posts with {len(adults_only)} marks for adults only and {len(held)} for held do not fit."
        raise RosterError("bad_posts", message, posts=posts)
    for driver in (*exempt, *juniors, *just_driven, *(served or ())):
        if not 1 <= driver <= plan.drivers:
            message = f"There is no driver {driver} among {plan.drivers}."
            raise RosterError("bad_driver", message, driver=driver)
    free = [post for post in range(posts) if not held[post]]
    adults = [adults_only[post] for post in free]
    desk = _Desk(
        plan, frozenset(exempt), frozenset(juniors), sum(adults), len(free), frozenset(just_driven), served or {}
    )
    desk.choose()
    desk.even_out()
    return tuple(_beside_helpers(row, free, posts) for row in desk.place(adults))


def _beside_helpers(row: Sequence[int | None], free: Sequence[int], posts: int) -> tuple[int | None, ...]:
    """A row of the free posts as a row of all of them."""
    standing = dict(zip(free, row, strict=True))
    return tuple(standing.get(post) for post in range(posts))


@dataclass(slots=True)
class _Desk:
    """The working sheet of one roster: who is on duty in which heat, before posts are given out."""

    plan: Plan
    exempt: frozenset[int]
    juniors: frozenset[int]
    adult_posts: int
    posts: int
    just_driven: frozenset[int]
    served: Mapping[int, int]
    driving: list[frozenset[int]] = field(init=False)
    free: list[frozenset[int]] = field(init=False)
    next_run: list[dict[int, int]] = field(init=False)
    on_duty: list[set[int]] = field(init=False)
    duties: dict[int, int] = field(init=False)

    def __post_init__(self) -> None:
        heats = range(len(self.plan.heats))
        self.driving = [self.plan.drivers_in(heat) for heat in heats]
        self.free = [frozenset(self.plan.sitting_out(heat)) - self.exempt for heat in heats]
        self.next_run = _next_runs(self.driving)
        self.on_duty = []
        going = (driver for driver in range(1, self.plan.drivers + 1) if driver not in self.exempt)
        self.duties = {driver: self.served.get(driver, 0) for driver in going}

    def choose(self) -> None:
        for heat, free in enumerate(self.free):
            order = sorted(free, key=lambda driver: self._wish(driver, heat))
            chosen = [driver for driver in order if driver not in self.juniors][: self.adult_posts]
            others = [driver for driver in order if driver not in chosen]
            chosen += others[: self.posts - self.adult_posts]
            self.on_duty.append(set(chosen))
            for driver in chosen:
                self.duties[driver] += 1

    def _wish(self, driver: int, heat: int) -> tuple[bool, int, int, int]:
        """Smallest first: just driven, fewest duties so far, next run furthest off, then by number."""
        just_driven = driver in (self.driving[heat - 1] if heat else self.just_driven)
        next_run = self.next_run[heat].get(driver, len(self.driving))
        return (not just_driven, self.duties[driver], -next_run, driver)

    def even_out(self) -> None:
        """Hand duties over, through others if need be, from who has most to who has two or more fewer.

        Each pass takes the shortest chain of hand-overs; when none is left the duties are as even as can be
        (Harvey, Ladner, Lovasz and Tamir, "Semi-matchings for bipartite graphs and load balancing", 2006).
        """
        while self._hand_over():
            pass

    def _hand_over(self) -> bool:
        fewest = min(self.duties.values(), default=0)
        givers = [driver for driver, duties in self.duties.items() if duties >= fewest + 2]
        for giver in sorted(givers, key=lambda driver: (-self.duties[driver], driver)):
            chain = self._chain_from(giver)
            if chain:
                for heat, gives, takes in chain:
                    self.on_duty[heat].remove(gives)
                    self.on_duty[heat].add(takes)
                self.duties[giver] -= 1
                self.duties[chain[-1][2]] += 1
                return True
        return False

    def _chain_from(self, giver: int) -> list[tuple[int, int, int]]:
        """Hand-overs (heat, who gives, who takes) that end at a driver with two duties fewer, or none."""
        came_by: dict[int, tuple[int, int, int]] = {}
        seen = {giver}
        waiting = deque([giver])
        while waiting:
            gives = waiting.popleft()
            for heat, on_duty in enumerate(self.on_duty):
                if gives not in on_duty:
                    continue
                takers = self.free[heat] - on_duty - seen
                for takes in sorted(takers, key=lambda driver: self._wish(driver, heat)):
                    if not self._may_relieve(heat, gives, takes):
                        continue
                    seen.add(takes)
                    came_by[takes] = (heat, gives, takes)
                    if self.duties[takes] <= self.duties[giver] - 2:
                        return _steps_to(takes, giver, came_by)
                    waiting.append(takes)
        return []

    def _may_relieve(self, heat: int, gives: int, takes: int) -> bool:
        """A junior may not take the place of an adult whom an adults' post needs."""
        if takes not in self.juniors or gives in self.juniors:
            return True
        adults = len(self.on_duty[heat] - self.juniors)
        return adults > self.adult_posts

    def place(self, adults_only: Sequence[bool]) -> Roster:
        rows: list[tuple[int | None, ...]] = []
        before: dict[int, int] = {}
        for on_duty in self.on_duty:
            row: list[int | None] = [None] * self.posts
            waiting = []
            for driver in sorted(on_duty):
                post = before.get(driver)
                if post is None:
                    waiting.append(driver)
                else:
                    row[post] = driver
            self._fill(row, waiting, adults_only)
            rows.append(tuple(row))
            before = {driver: post for post, driver in enumerate(row) if driver is not None}
        return tuple(rows)

    def _fill(self, row: list[int | None], waiting: list[int], adults_only: Sequence[bool]) -> None:
        """Juniors take open posts first and adults the rest; an adult on an open post moves for a junior."""
        for driver in sorted(waiting, key=lambda driver: (driver not in self.juniors, driver)):
            empty = [post for post, holder in enumerate(row) if holder is None]
            if driver in self.juniors:
                open_posts = [post for post in empty if not adults_only[post]]
                if open_posts:
                    row[open_posts[0]] = driver
                    continue
                mover = next(
                    post
                    for post, holder in enumerate(row)
                    if not adults_only[post] and holder is not None and holder not in self.juniors
                )
                row[empty[0]] = row[mover]
                row[mover] = driver
            else:
                row[min(empty, key=lambda post: (not adults_only[post], post))] = driver


def _next_runs(driving: Sequence[frozenset[int]]) -> list[dict[int, int]]:
    """By heat: for each driver who drives again after it, the heat of the next run."""
    after: dict[int, int] = {}
    result = []
    for heat in range(len(driving) - 1, -1, -1):
        result.append(dict(after))
        after.update(dict.fromkeys(driving[heat], heat))
    return result[::-1]


def _steps_to(last: int, first: int, came_by: dict[int, tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    chain = []
    while last != first:
        chain.append(came_by[last])
        last = came_by[last][1]
    return chain[::-1]
