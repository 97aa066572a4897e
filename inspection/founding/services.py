"""Found the first club of an installation: the club, its first director, its track, its gauges."""

import secrets
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.db import transaction

from inspection.clubs.services import ClubContent, create_club
from inspection.founding.errors import FoundedAlready, WrongCode
from inspection.gauges.services import install_register
from inspection.members.services import create_member
from inspection.models import Club, Role, User
from inspection.models.public import ALPHABET
from inspection.tracks.selectors import usual_colors
from inspection.tracks.services import LaneContent, LayoutContent, create_track

CODE_FILE = "first-run.code"
CODE_LENGTH = 12  # letters of ALPHABET: about 57 random bits, so that nobody on the network guesses it


def _code_path() -> Path:
    return settings.DATA_DIR / CODE_FILE


def first_run_code() -> str:
    """The code that whoever started the server may give to found the first club; "" once a club exists.

    Made at the first call and kept in the data folder, readable by its owner alone, until a club is founded.
    """
    if Club.objects.exists():
        return ""
    path = _code_path()
    try:
        return path.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        code = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
        path.write_text(code, encoding="ascii")
        return code


def check_code(typed: str) -> None:
    """Refuses every code but the one that `first_run_code` gave (WrongCode), in a time that does not tell how near."""
    try:
        code = _code_path().read_text(encoding="ascii").strip()
    except FileNotFoundError:
        raise WrongCode from None
    plain = "".join(typed.lower().replace("-", " ").split())
    if not code or not secrets.compare_digest(plain.encode(), code.encode()):
        raise WrongCode


@transaction.atomic
def found_club(
    *,
    code: str,
    slug: str,
    content: ClubContent,
    track_name: str,
    lane_names: Sequence[str],
    username: str,
    name: str,
    password: str,
) -> User:
    """The first club, with its owner and race director, a track, and the built-in gauges and characteristics.

    lane_names: in the order of their numbers. Returns the new director, to be signed in. Refuses a wrong code
    (WrongCode), a second club (FoundedAlready), and what the services of each part refuse.
    """
    check_code(code)
    if Club.objects.exists():
        raise FoundedAlready
    club = create_club(slug=slug, content=content, by=None)
    director = create_member(
        club=club,
        username=username,
        name=name,
        password=password,
        roles=[Role.OWNER, Role.RACE_DIRECTOR],
        by=None,
    )
    colors = usual_colors(lane_names)
    lanes = tuple(
        LaneContent(number=number, name=lane, color=color)
        for number, (lane, color) in enumerate(zip(lane_names, colors, strict=True), start=1)
    )
    create_track(club=club, name=track_name, content=LayoutContent(lanes=lanes), by=director)
    install_register(club=club, by=director)
    transaction.on_commit(lambda: _code_path().unlink(missing_ok=True))
    return director
