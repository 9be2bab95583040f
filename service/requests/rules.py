"""What is true of requests without asking a database."""

from __future__ import annotations

import enum
from collections.abc import Collection, Iterable
from datetime import date, timedelta
from typing import Final

from service.kit.days import full_day


class RequestKind(enum.StrEnum):
    """What is asked for."""

    FIRST_DEVICE = "first_device"
    NEXT_SOCKET = "next_socket"
    REPLACEMENT = "replacement"
    ADJUSTMENT = "adjustment"
    COLOUR = "colour"
    ADVICE = "advice"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return "new colour" if self is RequestKind.COLOUR else self.value.replace("_", " ")


class RequestState(enum.StrEnum):
    """Where a request stands."""

    OPEN = "open"
    AGREED = "agreed"
    ANSWERED = "answered"
    CLOSED = "closed"


class Asker(enum.StrEnum):
    """Who asked."""

    FAMILY = "family"
    VOLUNTEER = "volunteer"
    COORDINATOR = "coordinator"
    CLINICIAN = "clinician"
    FORECAST = "forecast"


class WhatHappened(enum.StrEnum):
    """What became of a part."""

    BROKEN = "broken"
    LOST = "lost"
    LOOSE = "loose"
    LINE = "line"
    CHARGE = "charge"
    SPARE = "spare"
    NOTICE = "notice"


class WaitsFor(enum.StrEnum):
    """Who is waited for while the clock stands still."""

    FAMILY = "family"
    CLINICIAN = "clinician"


UNSETTLED: Final = (RequestState.OPEN, RequestState.AGREED)
"""States in which it is still waited for."""

MARGIN: Final = timedelta(days=14)
"""Hysteresis: the forecast opens a request on the day it says to start, and closes it again only when that day has
moved at least so far ahead, so that a forecast that wavers by days does not open and close it in turn. Judgement.
"""

LEFT_ALONE: Final = timedelta(days=60)
"""So long the forecast does not ask again for a socket that somebody settled: a person's decision outranks it."""

MOVED: Final = timedelta(days=7)
"""A date that a newer forecast moves by less stays as it was said."""

MOST_PHOTOS: Final = 6
"""So many photographs a request; more show nothing more. Judgement."""

_ABOUT_DEVICE = frozenset({RequestKind.NEXT_SOCKET, RequestKind.ADJUSTMENT, RequestKind.COLOUR})


def need(kind: RequestKind, recipient_id: int, device_id: int | None, parts: Iterable[str] = ()) -> str:
    """What a request is about, as one text: one request for each is open at most."""
    about = f"{kind.value}:{recipient_id}"
    if kind in _ABOUT_DEVICE:
        return f"{about}:{device_id or 'any'}"
    if kind is RequestKind.REPLACEMENT:
        return f"{about}:{device_id or 'any'}:{','.join(sorted(parts)) or 'in words'}"
    return about


def part_key(place_id: int | None, kind: str, digit: str | None, happened: WhatHappened) -> str:
    """What part is needed, as one text; a spare is another need than the one that broke."""
    which = f"place {place_id}" if place_id is not None else f"{kind} {digit or ''}".strip()
    return f"spare {which}" if happened is WhatHappened.SPARE else which


def usable_unless_said(kind: RequestKind, happened: Collection[WhatHappened]) -> bool | None:
    """Whether the device can be used, where nobody said: it can if only spares are asked for, else nobody knows."""
    only_spares = kind is RequestKind.REPLACEMENT and bool(happened) and set(happened) == {WhatHappened.SPARE}
    return True if only_spares else None


def needed_by(
    kind: RequestKind,
    today: date,
    *,
    usable: bool | None,
    harm: bool,
    replacement_days: int,
    lead_days: int,
    start_by: date | None = None,
) -> date:
    """The day by which it should be there; see `needed_why`. `start_by` is the forecast's for the next socket."""
    soon, made = today + timedelta(days=replacement_days), today + timedelta(days=lead_days)
    match kind:
        case RequestKind.NEXT_SOCKET:
            return max(today, start_by + timedelta(days=lead_days)) if start_by else made
        case RequestKind.REPLACEMENT:
            return soon if usable is not True else max(soon, made)
        case RequestKind.ADJUSTMENT | RequestKind.ADVICE:
            return today if harm else soon
    return made


def needed_why(kind: RequestKind, asked_on: date, by: date, *, usable: bool | None, harm: bool) -> str:
    """Why it is needed by then, in a sentence."""
    within = f"{(by - asked_on).days} days after it was asked"
    match kind:
        case RequestKind.NEXT_SOCKET:
            return "Started when the forecast says, and made in the time that making takes here, it is there then."
        case RequestKind.REPLACEMENT if usable is True:
            return f"That is {within}, the time that making takes here: the device can be used meanwhile."
        case RequestKind.REPLACEMENT:
            known = "cannot be used" if usable is False else "may not be usable"
            return f"That is {within}, as your site replaces parts: the device {known} until then."
        case RequestKind.ADJUSTMENT | RequestKind.ADVICE if harm:
            return "That is the day it was asked: it hurts, so somebody answers the same day."
        case RequestKind.ADJUSTMENT | RequestKind.ADVICE:
            return f"That is {within}, as soon as your site replaces parts."
    return f"That is {within}, the time that making takes here."


def settled_problem(state: RequestState, settled_on: date | None) -> str | None:
    """Why nothing more is done to a request, or None while something may be."""
    if state in UNSETTLED:
        return None
    on = f" on {full_day(settled_on)}" if settled_on else ""
    return f"This request was {state.value}{on}. If something is needed again, ask for it anew."


def waiting_problem(since: date | None) -> str | None:
    """Why a wait cannot begin, given since when there is one; None if it can."""
    if since is None:
        return None
    return f"Somebody has been waited for since {full_day(since)}. End that wait first."


def is_called_off(start_by: date | None, today: date) -> bool:
    """Whether a forecast takes back what it asked for: its day to start lies well ahead, or is not within sight."""
    return start_by is None or start_by >= today + MARGIN
