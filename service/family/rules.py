"""What is true of family links without asking a database."""

from __future__ import annotations

import enum
from calendar import monthrange
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from types import MappingProxyType
from typing import Final

from service.builds.rules import BuildState
from service.recipients.rules import Purpose


class SaidKind(enum.StrEnum):
    """What a family said."""

    THANKS = "thanks"
    STOP = "stop"
    DATA = "data"
    LINK_LOST = "link_lost"


LASTS: Final = timedelta(days=365)
"""How long a link opens the pages; then the coordinator sends another. Judgement."""

KNOWN_FOR: Final = timedelta(days=180)
"""How long a browser that gave the month and year of birth is not asked again. Judgement."""

BIRTH_WINDOW: Final = timedelta(hours=24)
MOST_WRONG_BIRTHS: Final = 10
"""Wrong months of birth at one link within the window: there are some two hundred that a child may be born in."""

LINK_WINDOW: Final = timedelta(minutes=15)
MOST_WRONG_LINKS: Final = 20
"""Wrong links from one network within the window. A link that is right opens all the same."""


def is_birth(born: date, month: int, year: int) -> bool:
    """Whether somebody was born in that month."""
    return (born.year, born.month) == (year, month)


def is_open(ends_at: datetime, revoked_at: datetime | None, now: datetime) -> bool:
    """Whether a link still opens anything."""
    return revoked_at is None and now < ends_at


def answer_by(asked_on: date) -> date:
    """The last day to answer somebody who asks what is known of them.

    The same date of the next month, the last one of a month that has none such, and if that is a Saturday or Sunday
    the Monday after (Information Commissioner's Office, guidance on the right of access). Holidays are not known here.
    """
    year, month = asked_on.year + asked_on.month // 12, asked_on.month % 12 + 1
    due = asked_on.replace(year=year, month=month, day=min(asked_on.day, monthrange(year, month)[1]))
    return due + timedelta(days=max(0, 7 - due.weekday()) if due.weekday() >= _SATURDAY else 0)


_SATURDAY = 5

STOPS: Final[Mapping[Purpose, str]] = MappingProxyType(
    {
        Purpose.DEVICE: "Do not make a device for us.",
        Purpose.FIRST_NAME: "Do not tell our first name to those who make it.",
        Purpose.PHOTOGRAPHS: "Do not keep pictures of us.",
        Purpose.STATISTICS: "Do not count us in your numbers.",
        Purpose.RECORDS: "Do not keep what you wrote about us.",
    }
)
"""What a family can take back, as it says so."""

STOPPED: Final[Mapping[Purpose, str]] = MappingProxyType(
    {
        Purpose.DEVICE: "Nobody starts to make anything for you now.",
        Purpose.FIRST_NAME: "Nobody new is told your first name.",
        Purpose.PHOTOGRAPHS: "We will take your pictures away.",
        Purpose.STATISTICS: "You are not counted from now on.",
        Purpose.RECORDS: "We will call you. Some things we must keep for a time, so that a fault can be found.",
    }
)
"""What follows from it, as we say it back."""

PARTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "thumb": "the thumb",
        "index": "the first finger",
        "middle": "the middle finger",
        "ring": "the ring finger",
        "little": "the little finger",
        "palm": "the hand",
        "wrist_coupling": "the wrist",
        "forearm": "the arm piece",
        "socket": "the part your arm goes into",
        "strap": "a strap",
        "harness": "the straps on your back",
        "line": "the string",
        "elastic": "the stretchy string",
        "battery": "the battery",
    }
)
"""Parts as a family calls them, by where they are drawn; what is not here has no plain word and is left in words."""

SOMETHING_ELSE: Final = "other"

HAPPENED: Final[Mapping[str, str]] = MappingProxyType(
    {
        "broken": "It is broken",
        "lost": "It is lost",
        "loose": "It is loose",
        "line": "The string is torn or loose",
        "charge": "It does not charge",
        "spare": "It is fine. We would like a spare one",
    }
)
"""What became of a part, as a family says it."""

HOW_FAR: Final[Mapping[BuildState, str]] = MappingProxyType(
    {
        BuildState.MADE: "It is made. Somebody else looks at it now.",
        BuildState.CLEARED: "It is made and checked. It comes to you soon.",
        BuildState.DELIVERED: "It is with you. Do not wear it yet. We fit it with you first.",
        BuildState.SENT_BACK: "Something was not right yet. We make it better.",
    }
)
"""How far what was asked for is, where there is more to say than that somebody makes it."""

ASKED_FOR: Final[Mapping[str, str]] = MappingProxyType(
    {
        "first_device": "A first device",
        "next_socket": "A new part for your arm to go into",
        "replacement": "A new part",
        "adjustment": "A change, so that it fits",
        "colour": "A new colour",
        "advice": "An answer to your question",
    }
)
"""What is asked for, as a family calls it."""

NOTICE_ANSWERS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "stopped": "We stopped using it",
        "not_worn": "We were not using it",
        "looked": "We looked and found nothing",
        "still_worn": "We still use it",
    }
)
"""What a family says to a safety notice; to have looked answers only one that asks to look."""

SOCKS: Final = ("none", "1", "3", "3 + 1", "5", "5 + 1", "5 + 3")
"""Socks that are often worn, by the numbers on them."""

_DAYS_IN_A_MONTH = 30.44


def months_until(day: date, today: date) -> int:
    """Whole months until a day, rounded; none are below 0."""
    return max(0, round((day - today).days / _DAYS_IN_A_MONTH))


def wants_next(plies: tuple[int, ...], *, snug: bool, tight: bool) -> bool:
    """Whether a new socket is due: it is tight, or snug with no sock left to take off."""
    return tight or (snug and not plies)
