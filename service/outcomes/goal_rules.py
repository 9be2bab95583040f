"""What is true of goals without asking a database: levels, what cannot be, and how far goals were attained together."""

from __future__ import annotations

import enum
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

from service.kit.days import full_day
from service.statistics.goals import goal_attainment

LEVELS: Final = (-2, -1, 0, 1, 2)
"""From much less than hoped to much more; 0 is as hoped."""

LEVEL_WORDS: Final[Mapping[int, str]] = {
    -2: "much less than hoped",
    -1: "less than hoped",
    0: "as hoped",
    1: "more than hoped",
    2: "much more than hoped",
}
HEAVIEST: Final = 3


class Voice(enum.StrEnum):
    """Whose judgement it is; the recipient's own comes first."""

    RECIPIENT = "recipient"
    GUARDIAN = "guardian"
    HELPER = "helper"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {"recipient": "in their own words", "guardian": "a guardian", "helper": "a helper"}[self.value]


VOICES: Final = tuple(Voice)


def levels_problem(levels: Mapping[int, str]) -> tuple[str, str] | None:
    """What is wrong with the five levels of a goal in words, as (field, sentence), or None."""
    missing = [each for each in LEVELS if not levels.get(each, "").strip()]
    if missing:
        return f"levels.{missing[0]}", f"Say in words what this level is: {LEVEL_WORDS[missing[0]]}."
    seen: dict[str, int] = {}
    for level in LEVELS:
        words = " ".join(levels[level].casefold().split())
        if words in seen:
            said = f"This says the same as {LEVEL_WORDS[seen[words]]}. Say what would be different."
            return f"levels.{level}", said
        seen[words] = level
    return None


def agreed_problem(agreed_on: date, born: date, today: date) -> str | None:
    """Why a goal cannot have been agreed on a day, or None."""
    if agreed_on > today:
        return "This day is still to come. A goal is recorded once it is agreed."
    return "This is before they were born. Check the day." if agreed_on < born else None


def scored_problem(on: date, agreed_on: date, ended_on: date | None, today: date) -> str | None:
    """Why a goal cannot have been scored on a day, or None."""
    if on > today:
        return "This day is still to come. Score it once you have talked about it."
    if on < agreed_on:
        return f"It was agreed on {full_day(agreed_on)}. Give that day or a later one."
    if ended_on is not None and on > ended_on:
        return f"This goal ended on {full_day(ended_on)}. Score the one that was written after it."
    return None


def attainment(scored: Sequence[tuple[int, int]]) -> float | None:
    """How far goals were attained together, from (weight, level) of each; None without goals. 50 is as hoped."""
    if not scored:
        return None
    return goal_attainment([level for _weight, level in scored], [weight for weight, _level in scored])
