"""Days as people say them, for sentences that are made where no page is known."""

from __future__ import annotations

from calendar import month_name
from datetime import date


def full_day(on: date) -> str:
    """Return ``"12 March 2027"``, which reads alike in a table's column and cannot mean another year's day."""
    return f"{on.day} {month_name[on.month]} {on.year}"
