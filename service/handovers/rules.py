"""What is true of hand-overs without asking a database: when the skin may be looked at, the cautions, follow-ups."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Final

CAUTIONS: Final[tuple[tuple[str, str], ...]] = (
    ("stop", "Stop wearing it if it hurts, rubs, is cracked or loose, and tell us. With a wound, see a doctor today."),
    ("skin", "Look at the skin every day. Redness is gone within {minutes} minutes; if not, leave it off and tell us."),
    ("heat", "Keep it below 50 °C: not in a hot car, on a radiator, in a dishwasher. Plastic goes soft."),
    ("loads", "Do not hang or swing from it, climb with it, or lift what would be heavy for the other hand."),
    ("machines", "Do not use machines, ride or drive with it unless a professional has said that you may."),
    ("water", "Take it off in the bath, in the sea and in the pool. Dry it before you wear it again."),
    ("charging", "Never charge it while it is worn, and not in bed."),
    ("small", "Keep small parts, pins and batteries away from small children. They can be swallowed."),
    ("never", "Do not mend or change it yourselves. Ask us; a broken part is free."),
)
"""The usual cautions, common practice; local rules and licensed practice go first. `cautions` fills in the minutes."""

WEAR_IN: Final[tuple[str, ...]] = (
    "Day 1: 30 minutes, once.",
    "Day 2: 30 minutes, three times.",
    "Day 3: 45 minutes, three times.",
    "Day 4: an hour, three times.",
    "From day 5: half an hour more each day, as long as the skin is well.",
)
"""The gentlest of the published plans; a clinician's plan goes before it (common practice, clinic leaflets)."""

_GRACE: Final = {"wear_in": timedelta(0), "two_weeks": timedelta(days=3)}
"""How long before its day a look counts for a follow-up; two weeks for the later ones (judgement)."""


def cautions(fades_minutes: int) -> list[str]:
    """The cautions as they are read, with how soon redness is gone."""
    return [words.format(minutes=fades_minutes) for _name, words in CAUTIONS]


def follow_up_words(name: str) -> str:
    """A follow-up as it is called."""
    return {
        "wear_in": "after the first week",
        "two_weeks": "after two weeks",
        "three_months": "after three months",
        "six_months": "after half a year",
    }.get(name, name.replace("_", " "))


def counts_from(name: str, due_on: date) -> date:
    """From which day on a look counts for a follow-up."""
    return due_on - _GRACE.get(name, timedelta(days=14))


def skin_problem(
    worn_minutes: int | None, look_at: datetime | None, now: datetime, least_minutes: int
) -> tuple[str, str] | None:
    """Why the skin cannot be judged yet, as (field, sentence), or None.

    With the moment at which it is looked at, the clock decides; without, whoever signs says how long it was worn.
    """
    if look_at is not None:
        return None if now >= look_at else ("checks.skin", f"Look at the skin at {look_at:%H:%M}, not before.")
    if worn_minutes is None:
        return "checks.worn_minutes", f"Say how many minutes it was worn: at least {least_minutes}, then take it off."
    if worn_minutes < least_minutes:
        return (
            "checks.worn_minutes",
            f"It was worn {worn_minutes} minutes. Wear it {least_minutes}, take it off, and then look at the skin.",
        )
    return None
