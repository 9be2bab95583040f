"""What is true of family links without asking a database."""

from __future__ import annotations

import enum
from datetime import date, datetime, timedelta
from typing import Final


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
