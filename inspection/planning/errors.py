"""What the bench refuses to read or to work out."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class PlanningCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    NOT_AN_OBJECT = "not_an_object"
    NOT_A_LIST = "not_a_list"
    TOO_MANY = "too_many"
    NOT_TEXT = "not_text"
    NOT_A_NUMBER = "not_a_number"
    UNKNOWN_KEY = "unknown_key"
    UNREADABLE = "unreadable"
    NOT_ONE_OF = "not_one_of"
    KIND_DOES_NOT_FIT = "kind_does_not_fit"
    LACKS = "lacks"
    IMPOSSIBLE = "impossible"
    NOTHING_WANTED = "nothing_wanted"


MESSAGES: Final[Mapping[PlanningCode, str]] = {
    PlanningCode.NOT_AN_OBJECT: "“%(path)s” must be an object of names and values.",
    PlanningCode.NOT_A_LIST: "“%(path)s” must be a list.",
    PlanningCode.TOO_MANY: "“%(path)s” may hold at most %(most)s entries.",
    PlanningCode.NOT_TEXT: '“%(path)s” must be text, such as "19.5 mm".',
    PlanningCode.NOT_A_NUMBER: "“%(path)s” must be a whole number of 0 or more.",
    PlanningCode.UNKNOWN_KEY: "“%(path)s” is not known here. Known are: %(known)s.",
    PlanningCode.UNREADABLE: "“%(path)s” cannot be read: %(why)s",
    PlanningCode.NOT_ONE_OF: "“%(path)s” must be one of: %(known)s.",
    PlanningCode.KIND_DOES_NOT_FIT: "“%(path)s” takes a part of the kind %(known)s.",
    PlanningCode.LACKS: "“%(path)s” lacks “%(name)s”.",
    PlanningCode.IMPOSSIBLE: "“%(path)s” cannot be so: %(why)s",
    PlanningCode.NOTHING_WANTED: "Say in “%(path)s” what is wanted.",
}


class PlanningError(ValueError):
    """A document that cannot be read. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: PlanningCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)
