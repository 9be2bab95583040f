"""What is true of builds without asking a database: states, `MOVES`, the one table of what may follow what, sums."""

from __future__ import annotations

import enum
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from service.parts.rules import PartKind


class BuildState(enum.StrEnum):
    """How far a build is."""

    PLANNED = "planned"
    MAKING = "making"
    MADE = "made"
    CLEARED = "cleared"
    DELIVERED = "delivered"
    FITTED = "fitted"
    WORN = "worn"
    SENT_BACK = "sent_back"
    DROPPED = "dropped"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")

    @property
    def says(self) -> str:
        """What it means, in a sentence for whoever looks at it."""
        return _SAYS[self]


_SAYS: Final[Mapping[BuildState, str]] = MappingProxyType(
    {
        BuildState.PLANNED: "Nothing is printed yet.",
        BuildState.MAKING: "It is being printed and put together.",
        BuildState.MADE: "It is made, and waits for its bench check by somebody else.",
        BuildState.CLEARED: "It passed its bench check and may go out.",
        BuildState.DELIVERED: "It is with the family, and waits to be fitted. It is not worn before that.",
        BuildState.FITTED: "It was put on and checked. The first days of wearing go on.",
        BuildState.WORN: "The first days are over, and it is worn.",
        BuildState.SENT_BACK: "Something was found, and it goes back to who makes it.",
        BuildState.DROPPED: "It is not made any more.",
    }
)

MOVES: Final[Mapping[BuildState, tuple[BuildState, ...]]] = MappingProxyType(
    {
        BuildState.PLANNED: (BuildState.MAKING, BuildState.DROPPED),
        BuildState.MAKING: (BuildState.MADE, BuildState.DROPPED),
        BuildState.MADE: (BuildState.CLEARED, BuildState.SENT_BACK, BuildState.DROPPED),
        BuildState.CLEARED: (BuildState.DELIVERED, BuildState.SENT_BACK, BuildState.DROPPED),
        BuildState.DELIVERED: (BuildState.FITTED, BuildState.SENT_BACK, BuildState.DROPPED),
        BuildState.FITTED: (BuildState.WORN,),
        BuildState.WORN: (),
        BuildState.SENT_BACK: (BuildState.MAKING, BuildState.DROPPED),
        BuildState.DROPPED: (),
    }
)
"""Which state may follow which. What is on a limb is no build any more: a fault found there is an incident."""

UNDER_WAY: Final = (
    BuildState.PLANNED,
    BuildState.MAKING,
    BuildState.MADE,
    BuildState.CLEARED,
    BuildState.DELIVERED,
    BuildState.SENT_BACK,
)
"""States in which it is not on a limb and still may come to be."""

BEING_MADE: Final = (BuildState.MAKING, BuildState.SENT_BACK)

NEEDS_WHY: Final = frozenset({BuildState.SENT_BACK, BuildState.DROPPED})
"""Moves that nobody makes without a reason."""


def move_problem(now: BuildState, wanted: BuildState) -> str | None:
    """Why a build cannot go from one state to another, and what can be done; None if it can."""
    if wanted in MOVES[now]:
        return None
    if now is wanted:
        return f"This build is {now.label} already. There is nothing to do."
    can = [each.label for each in MOVES[now]]
    ways = f"From here it can become {' or '.join(can)}." if can else "Nothing follows from here."
    return f"This build is {now.label}, so it cannot become {wanted.label}. {ways}"


class FailedWhy(enum.StrEnum):
    """Why a print failed: common practice of what goes wrong with extruded filament."""

    CAME_LOOSE = "came_loose"
    STRINGS = "strings"
    LAYERS_SPLIT = "layers_split"
    LAYERS_SHIFTED = "layers_shifted"
    RAN_OUT = "ran_out"
    NOZZLE_BLOCKED = "nozzle_blocked"
    POWER = "power"
    WRONG_FILE = "wrong_file"
    WRONG_SIZE = "wrong_size"
    OTHER = "other"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return _FAILED[self]


_FAILED: Final[Mapping[FailedWhy, str]] = MappingProxyType(
    {
        FailedWhy.CAME_LOOSE: "it came loose from the bed",
        FailedWhy.STRINGS: "strings or blobs",
        FailedWhy.LAYERS_SPLIT: "layers came apart",
        FailedWhy.LAYERS_SHIFTED: "layers shifted",
        FailedWhy.RAN_OUT: "filament ran out",
        FailedWhy.NOZZLE_BLOCKED: "the nozzle was blocked",
        FailedWhy.POWER: "the power or the printer failed",
        FailedWhy.WRONG_FILE: "the wrong file",
        FailedWhy.WRONG_SIZE: "the wrong size",
        FailedWhy.OTHER: "something else",
    }
)


class Needed(NamedTuple):
    """An item as it is counted: how many are needed, and how many came out and are in it."""

    item: int
    name: str
    quantity: int
    printed: bool
    came_out: int
    has_lot: bool


def unfinished(items: Iterable[Needed]) -> list[str]:
    """What is missing before a build is made, each as a sentence."""
    found = []
    for each in items:
        missing = each.quantity - each.came_out
        if each.printed and missing > 0:
            more = "It has not come out yet" if each.quantity == 1 else f"{missing} more have to come out"
            found.append(f"{each.name[:1].upper()}{each.name[1:]}: {more}. Log the print.")
        elif not each.has_lot:
            found.append(f"{each.name[:1].upper()}{each.name[1:]}: nobody said from which lot it is. Name the lot.")
    return found


HANDS: Final = frozenset({PartKind.PALM, PartKind.FINGER, PartKind.THUMB})
"""Printed parts of a hand, from which pieces break off."""

ELECTRIC: Final = frozenset({PartKind.MOTOR, PartKind.BOARD, PartKind.BATTERY})
"""Parts that make a device an electric one."""
