"""What is true of volunteers without asking a database."""

from __future__ import annotations

import enum
from datetime import date
from math import ceil
from typing import Final

from service.kit.days import full_day
from service.recipients.rules import birthday

VETTING_YEARS: Final = 3
"""After how many years a vetting is looked at again unless somebody says otherwise (common practice, not law)."""

LONGEST_ABSENCE_DAYS: Final = 3 * 366


class Skill(enum.StrEnum):
    """What somebody is trained for."""

    PRINT = "print"
    ASSEMBLE = "assemble"
    ELECTRONICS = "electronics"
    MEASURE = "measure"
    FIT = "fit"
    BENCH_CHECK = "bench_check"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


class PrinterState(enum.StrEnum):
    """Whether a printer can be counted on."""

    WORKING = "working"
    OUT_OF_ORDER = "out_of_order"
    GONE = "gone"


class VettingKind(enum.StrEnum):
    """What a safeguarding check covers; levels have other names in other countries, so these are plain."""

    HOME_VISITS = "home_visits"
    CONTACT_IN_CLINIC = "contact_in_clinic"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


def review_due(checked_on: date) -> date:
    """When a vetting is looked at again by policy, unless somebody sets another day."""
    return birthday(checked_on, VETTING_YEARS)


def vetting_said(kind: VettingKind, review_due_on: date, today: date) -> str:
    """A vetting in a sentence. It has a day when the charity looks at it again: nothing lapses by law."""
    said = f"Vetted for {kind.label}"
    if review_due_on < today:
        return f"{said}. The review was due by {full_day(review_due_on)} by the charity's policy."
    return f"{said}. The review is due by {full_day(review_due_on)} by the charity's policy."


def vetting_problem(checked_on: date, review_due_on: date, today: date) -> tuple[str, str] | None:
    """What is wrong with a vetting's days, as the field and what to do; None if nothing is."""
    if checked_on > today:
        return "checked_on", "This day is still to come. Give the day of the check."
    if review_due_on <= checked_on:
        return "review_due_on", "The review has to be due after the day of the check."
    return None


def absence_problem(since: date, until: date, today: date) -> tuple[str, str] | None:
    """What is wrong with days away, as the field and what to do; None if nothing is."""
    if until < since:
        return "until", "The last day away is before the first. Put the two days right."
    if until < today:
        return "until", "These days are over, so they need not be recorded."
    if (until - since).days > LONGEST_ABSENCE_DAYS:
        return "until", "This is more than three years: check the year. Who has left is recorded as left."
    return None


def visit_problem(visited_on: date, today: date, age: int, guardian_present: str) -> tuple[str, str] | None:
    """What is wrong with a visit as told, as the field and what to do; None if nothing is."""
    if visited_on > today:
        return "visited_on", "This day is still to come. Record the visit once it was made."
    if age < 18 and not guardian_present:
        return "guardian_present", "Say which guardian was present. A child is never visited without one."
    return None


def about_km(km: float) -> int:
    """A distance as anybody may know it: to the nearest 5 km, never less than 5."""
    return max(5, 5 * ceil(km / 5 - 0.5))
