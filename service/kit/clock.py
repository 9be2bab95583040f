"""Time enters the register here and nowhere else, so that a test can stand at any date."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime

Clock = Callable[[], datetime]
"""Gives the present moment, aware, in UTC."""


def system_clock() -> datetime:
    """The machine's clock in UTC."""
    return datetime.now(UTC)


def age_on(birth_date: date, day: date) -> int:
    """Completed years of age on a day; somebody born on 29 February has the birthday on 1 March in other years."""
    return day.year - birth_date.year - ((day.month, day.day) < (birth_date.month, birth_date.day))
