"""Time enters the register here and nowhere else, so that a test can stand at any date."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from zoneinfo import ZoneInfo

Clock = Callable[[], datetime]
"""Gives the present moment, aware, in the register's time zone."""


def clock_in(zone: ZoneInfo) -> Clock:
    """The machine's clock as people read it in a time zone: their day is the register's day."""
    return lambda: datetime.now(zone)


def age_on(birth_date: date, day: date) -> int:
    """Completed years of age on a day; somebody born on 29 February has the birthday on 1 March in other years."""
    return day.year - birth_date.year - ((day.month, day.day) < (birth_date.month, birth_date.day))
