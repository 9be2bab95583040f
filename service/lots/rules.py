"""What is true of lots without asking a database."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Final

from service.recipients.rules import fold

EARLIEST_RECEIVED: Final = date(2000, 1, 1)
"""An earlier day is a slip of the year."""


class LotKind(enum.StrEnum):
    """A spool of filament, or bought things."""

    FILAMENT = "filament"
    HARDWARE = "hardware"


class LotUnit(enum.StrEnum):
    """What a lot is counted in."""

    GRAMS = "g"
    METRES = "m"
    PIECES = "pieces"


class LotState(enum.StrEnum):
    """Whether something may be made from it."""

    IN_USE = "in_use"
    USED_UP = "used_up"
    HELD = "held"
    WITHDRAWN = "withdrawn"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


MOVES: Final[Mapping[LotState, tuple[LotState, ...]]] = MappingProxyType(
    {
        LotState.IN_USE: (LotState.USED_UP, LotState.HELD, LotState.WITHDRAWN),
        LotState.USED_UP: (LotState.IN_USE, LotState.HELD, LotState.WITHDRAWN),
        LotState.HELD: (LotState.IN_USE, LotState.WITHDRAWN),
        LotState.WITHDRAWN: (LotState.HELD,),
    }
)
"""Which state may follow which. A spool that is used up can still be held or withdrawn: what was made of it is worn."""

_WHY_NOT: Final[Mapping[LotState, str]] = MappingProxyType(
    {
        LotState.USED_UP: "It is used up. If there is some left after all, put it back in use first.",
        LotState.HELD: "It is held: somebody has to look at it before anything is made from it.",
        LotState.WITHDRAWN: "It is withdrawn: nothing is made from it any more.",
    }
)


def move_problem(now: LotState, wanted: LotState) -> str | None:
    """What speaks against a change of state, and what to do instead; None if nothing does."""
    if wanted is now:
        return f"This lot is {now.label} already. There is nothing to do."
    if wanted in MOVES[now]:
        return None
    if now is LotState.WITHDRAWN:
        return "A withdrawn lot is not used again just like that: hold it first, and let somebody look."
    return f"A lot that is {now.label} cannot become {wanted.label}. Put it back in use first."


def why_not_used(state: LotState) -> str | None:
    """Why nothing new may be made from a lot in this state; None if something may."""
    return _WHY_NOT.get(state)


def received_problem(on: date, today: date) -> str | None:
    """What is wrong with the day a lot was received, or None."""
    if on > today:
        return "This day is still to come. Give the day it was received."
    if on < EARLIEST_RECEIVED:
        return "This is long ago: check the year."
    return None


def counting_problem(kind: LotKind, unit: LotUnit) -> str | None:
    """What is wrong with what a lot is counted in, or None."""
    if kind is LotKind.FILAMENT and unit is LotUnit.PIECES:
        return "Filament is weighed or measured: give grams or metres. Record each spool as a lot of its own."
    return None


def usual_unit(kind: LotKind) -> LotUnit:
    """What a lot is counted in if nobody says."""
    return LotUnit.GRAMS if kind is LotKind.FILAMENT else LotUnit.PIECES


def search_words(*texts: str) -> str:
    """What a lot is found by: its words folded, so that neither case nor accents matter."""
    return fold(" ".join(texts))
