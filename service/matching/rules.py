"""What is true of matching without asking a database."""

from __future__ import annotations

import enum
from collections.abc import Collection, Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from service.parts.rules import PartKind
from service.requests.rules import RequestKind
from service.volunteers.rules import Skill


class OfferState(enum.StrEnum):
    """Where an offer stands."""

    WAITING = "waiting"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    LAPSED = "lapsed"
    TAKEN_BACK = "taken_back"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


LAPSES_AFTER: Final[Mapping[int, timedelta]] = MappingProxyType(
    {1: timedelta(days=1), 2: timedelta(days=2), 3: timedelta(days=4), 4: timedelta(days=4)}
)
"""How long a volunteer has to answer, by the request's rank; judgement."""

VISITS: Final = frozenset({RequestKind.FIRST_DEVICE, RequestKind.ADJUSTMENT})
"""What cannot be sent by post: somebody has to be there."""

HANDS_HOURS: Final[Mapping[RequestKind, float]] = MappingProxyType(
    {
        RequestKind.FIRST_DEVICE: 10.0,
        RequestKind.NEXT_SOCKET: 3.0,
        RequestKind.REPLACEMENT: 1.0,
        RequestKind.ADJUSTMENT: 2.0,
        RequestKind.COLOUR: 2.0,
        RequestKind.ADVICE: 1.0,
    }
)
"""Hours of somebody's hands, of a replacement for each part; judgement, until builds tell."""

PRINT_HOURS: Final[Mapping[RequestKind, float]] = MappingProxyType(
    {RequestKind.FIRST_DEVICE: 30.0, RequestKind.NEXT_SOCKET: 5.0, RequestKind.COLOUR: 5.0}
)
"""Hours on a printer while no file is chosen: a socket takes about five (common practice)."""

_ELECTRIC = frozenset({PartKind.MOTOR, PartKind.BOARD, PartKind.BATTERY})


def skills_for(kind: RequestKind, parts: Collection[PartKind]) -> frozenset[Skill]:
    """What somebody has to be trained for."""
    needs = {
        RequestKind.FIRST_DEVICE: {Skill.PRINT, Skill.ASSEMBLE, Skill.FIT},
        RequestKind.NEXT_SOCKET: {Skill.PRINT},
        RequestKind.COLOUR: {Skill.PRINT},
        RequestKind.ADJUSTMENT: {Skill.FIT},
    }.get(kind, set())
    if any(each.is_printed for each in parts):
        needs = needs | {Skill.PRINT}
    if not _ELECTRIC.isdisjoint(parts):
        needs = needs | {Skill.ELECTRONICS}
    return frozenset(needs)


def answer_problem(state: OfferState, wanted: OfferState) -> str | None:
    """Why an offer cannot be answered so any more, or None."""
    if state is OfferState.WAITING:
        return None
    said = {
        OfferState.ACCEPTED: "This offer was accepted already. To give it back, ring the coordinator.",
        OfferState.DECLINED: "This offer was declined, and somebody else is asked. Ring the coordinator to take it.",
        OfferState.LAPSED: "This offer has lapsed, and somebody else is asked. Ring the coordinator to take it.",
        OfferState.TAKEN_BACK: "This is not needed any more, or somebody else makes it. There is nothing to do.",
    }[state]
    return None if state is wanted else said


def shows_address(*, accepted: bool, delivers: bool, handed_over: bool, vetted_until: date | None, today: date) -> bool:
    """Whether a volunteer is shown where to bring it: they said yes, bring it, are vetted now, and have not yet."""
    return accepted and delivers and not handed_over and vetted_until is not None and vetted_until >= today
