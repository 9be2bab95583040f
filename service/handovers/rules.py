"""What is true of hand-overs without asking a database: when the skin may be looked at, the cautions, follow-ups."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Final

from service.safety.rules import FADES_MINUTES

CAUTIONS: Final[tuple[tuple[str, str], ...]] = (
    ("stop", "Stop wearing it if it hurts, rubs, is cracked or loose, and tell us. With a wound, see a doctor today."),
    ("skin", "Look at the skin every day. Redness is gone within 20 minutes; if not, leave it off and tell us."),
    ("heat", "Keep it below 50 °C: not in a hot car, on a radiator, in a dishwasher. Plastic goes soft."),
    ("loads", "Do not hang or swing from it, climb with it, or lift what would be heavy for the other hand."),
    ("machines", "Do not use machines, ride or drive with it unless a professional has said that you may."),
    ("water", "Take it off in the bath, in the sea and in the pool. Dry it before you wear it again."),
    ("charging", "Never charge it while it is worn, and not in bed."),
    ("small", "Keep small parts, pins and batteries away from small children. They can be swallowed."),
    ("never", "Do not mend or change it yourselves. Ask us; a broken part is free."),
)
"""The usual cautions, common practice; local rules and licensed practice go first."""

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


def follow_up_words(name: str) -> str:
    """A follow-up as it is called."""
    return {
        "wear_in": "after the first week",
        "two_weeks": "after two weeks",
        "three_months": "after three months",
        "six_months": "after half a year",
    }.get(name, name.replace("_", " "))


def is_done(name: str, due_on: date, looked_on: Iterable[date]) -> bool:
    """Whether somebody has looked since shortly before a follow-up was due."""
    return any(each >= due_on - _GRACE.get(name, timedelta(days=14)) for each in looked_on)


def skin_problem(worn_minutes: int | None, put_on_at: datetime | None, now: datetime) -> tuple[str, str] | None:
    """Why the skin cannot be judged yet, as (field, sentence), or None.

    With the moment it was put on, the clock decides; without, whoever signs says how long it was worn.
    """
    if put_on_at is not None:
        ready = put_on_at + timedelta(minutes=FADES_MINUTES)
        if now < ready:
            return "checks.skin", f"It was put on at {put_on_at:%H:%M}. Look at the skin at {ready:%H:%M}, not before."
        return None
    if worn_minutes is None:
        return "checks.worn_minutes", f"Say how many minutes it was worn: at least {FADES_MINUTES}, then take it off."
    if worn_minutes < FADES_MINUTES:
        return (
            "checks.worn_minutes",
            f"It was worn {worn_minutes} minutes. Wear it {FADES_MINUTES}, take it off, and then look at the skin.",
        )
    return None
