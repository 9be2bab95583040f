"""What is true of notices without asking a database, and what makers are told."""

from __future__ import annotations

import enum
from datetime import date

from service.kit.days import full_day


class NoticeKind(enum.StrEnum):
    """What a notice is about."""

    VERSION = "version"
    LOT = "lot"
    PRINTER = "printer"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {"version": "part version", "lot": "lot", "printer": "printer"}[self.value]


class Todo(enum.StrEnum):
    """What a family does when it hears of it."""

    STOP = "stop"
    LOOK = "look"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {"stop": "stop using it today", "look": "look at it today"}[self.value]


class Answer(enum.StrEnum):
    """What a family said."""

    STOPPED = "stopped"
    NOT_WORN = "not_worn"
    LOOKED = "looked"
    STILL_WORN = "still_worn"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {
            "stopped": "stopped using it",
            "not_worn": "was not using it",
            "looked": "looked, and found nothing",
            "still_worn": "still uses it",
        }[self.value]


def maker_text(what: str, why: str) -> str:
    """What somebody is told who is making something that is affected."""
    return (
        f"A safety notice was opened on {what}: {why}\n\nPlease make nothing more of it, and keep what is ready. What "
        "you are making cannot be cleared as it is. Your builds say what to do instead:\n\n/builds"
    )


def days_problem(kind: NoticeKind, first: date | None, last: date | None, today: date) -> tuple[str, str] | None:
    """What is wrong with the days of a notice on a printer, as (field, sentence), or None."""
    if kind is not NoticeKind.PRINTER:
        if first or last:
            return "from_on", "Days are given for a printer. A version or a lot is affected whenever it was printed."
        return None
    if first is None:
        return "from_on", "Say from which day on what came off this printer is affected."
    if first > today:
        return "from_on", "This day is still to come."
    if last is not None and last < first:
        return "until_on", f"This is before {full_day(first)}. Check both days."
    return None


def remain_problem(remaining: int) -> str | None:
    """Why a notice cannot be closed, or None."""
    if remaining == 0:
        return None
    devices = "1 device still holds" if remaining == 1 else f"{remaining} devices still hold"
    return f"{devices} a part that this notice is about. Replace it, or record that it came off; then close it."
