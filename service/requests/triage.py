"""Which request comes first, and why: harm, then what cannot be used, then days until tight, then days waited. Pure.

Nothing of it is stored but somebody's own decision; as a case changes, so does its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from service.kit.days import full_day

RANKS: Final = (1, 2, 3, 4)
_PLACES: Final = {1: "First", 2: "Second", 3: "Third", 4: "Fourth"}
_DAYS_IN_A_WEEK = 7


@dataclass(frozen=True, slots=True)
class Facts:
    """What triage knows of a request.

    `tight_on` is the likely day its socket is tight; `lead_days` is how long making takes; `stood_days` were spent
    waiting for somebody else and are not counted; `has_spare` says whether another device is at hand.
    """

    harm: bool
    usable: bool | None
    asked_on: date
    tight_on: date | None = None
    lead_days: int = 0
    stood_days: int = 0
    has_spare: bool = False


@dataclass(frozen=True, slots=True)
class Decision:
    """What somebody decided instead."""

    rank: int
    why: str
    by: str


@dataclass(frozen=True, slots=True)
class Triage:
    """A place, 1 (first) to 4, and a sentence; `by` names who decided, None when it follows from the facts."""

    rank: int
    why: str
    by: str | None = None


def triage(facts: Facts, today: date, decision: Decision | None = None) -> Triage:
    """The place of a request, and why."""
    if decision is not None:
        why = f"{_PLACES[decision.rank]}: {decision.why.rstrip('.')}. {decision.by} decided so."
        return Triage(decision.rank, why, decision.by)
    rank = rank_of(facts, today)
    return Triage(rank, f"{_PLACES[rank]}: {_why(rank, facts, today)}.")


def rank_of(facts: Facts, today: date) -> int:
    """The place that follows from the facts alone."""
    if facts.harm:
        return 1
    if facts.usable is False:
        return 2
    if facts.tight_on is not None and (facts.tight_on - today).days <= facts.lead_days:
        return 3
    return 4


def waited_days(asked_on: date, today: date, stood_days: int) -> int:
    """Days on the waiting clock."""
    return max(0, (today - asked_on).days - stood_days)


def lately(on: date, today: date) -> str:
    """A day as people say it: "today", "Saturday" within the last week, else its date."""
    if on == today:
        return "today"
    return f"{on:%A}" if 0 < (today - on).days < _DAYS_IN_A_WEEK else full_day(on)


def days_in_words(days: int) -> str:
    """Return "1 day", "12 days"."""
    return f"{days} day{'' if days == 1 else 's'}"


def _why(rank: int, facts: Facts, today: date) -> str:
    if rank == 1:
        return "it hurts"
    if rank == 2:
        spare = "a spare device is at hand" if facts.has_spare else "no spare device"
        return f"it cannot be used since {lately(facts.asked_on, today)}: {spare}"
    days = waited_days(facts.asked_on, today, facts.stood_days)
    waited = f"; waited for {days_in_words(days)}" if days else ""
    if facts.tight_on is None:
        return f"nothing is known to hurt or to stand still{waited}"
    if rank == 3:
        left = (facts.tight_on - today).days
        when = f"in about {days_in_words(left)}" if left > 0 else "by now"
        return f"the socket is probably tight {when}, and making takes {days_in_words(facts.lead_days)}"
    return f"the socket is probably not tight before {full_day(facts.tight_on)}{waited}"
