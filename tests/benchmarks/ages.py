# ruff: noqa: T201 - a script prints
"""What the model says at every age of somebody it has one reading of.

    python -m tests.benchmarks.ages

Each is a child or grown-up whose reading today, with a tape, is the median for age and sex, in a socket (girth) or with
a printed hand (hand length) that has eight per cent of room. Printed as markdown: months until the room is used up, the
median and in brackets the 10 and 90 per cent quantiles. The model draws the same random numbers every time, so the
table changes only with it. DEVELOPERS.md has it; `tests/growth/test_ages.py` holds it there.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import Literal

from service.anthropometry import Dimension, reference
from service.growth.model import MODEL, forecast
from service.growth.model.case import Case, Channel, Forecast, Limit, Reading

Sexed = Literal["female", "male"]

AGES = (1, 2, 3, 5, 8, 11, 14, 17, 20, 30, 45, 60)
DIMENSIONS = (Dimension.RESIDUAL_LIMB_GIRTH, Dimension.HAND_LENGTH)
SEXES: tuple[Sexed, ...] = ("female", "male")
ROOM = 0.08
TODAY = date(2026, 3, 12)
DAYS_IN_MONTH = 365.25 / 12
LATER = ">36"
NAMES = {Dimension.RESIDUAL_LIMB_GIRTH: "girth", Dimension.HAND_LENGTH: "hand"}
WHO = {"female": "girls, women", "male": "boys, men"}


def case(dimension: Dimension, sex: Sexed, age: float, room: float = ROOM) -> Case:
    """Somebody of median size, measured once, today."""
    size = float(reference(dimension, sex).median(age))
    channel = Channel(dimension, "left", 60.0 if dimension is Dimension.RESIDUAL_LIMB_GIRTH else None)
    reading = Reading(TODAY, channel, size, "tape")
    born = TODAY - timedelta(days=round(age * 365.25))
    return Case(born, sex, TODAY, (reading,), TODAY, (Limit(channel, size * (1 + room)),))


@cache
def foreseen(dimension: Dimension, sex: Sexed, age: float, room: float = ROOM) -> Forecast:
    """The forecast of such a case."""
    return forecast(case(dimension, sex, age, room))


def months(day: date | None) -> float:
    """Months from today; infinite when not within three years."""
    return float("inf") if day is None else (day - TODAY).days / DAYS_IN_MONTH


def cell(found: Forecast) -> str:
    """Months until the room is used up: "17 (11 to 26)"; ">36" is not within three years."""
    if found.p10 is None:
        return LATER
    low, middle, high = (f"{months(day):.0f}" if day else LATER for day in (found.p10, found.p50, found.p90))
    return f"{middle} ({low} to {high})"


def table() -> str:
    """The whole table, as markdown."""
    columns = [(dimension, sex) for dimension in DIMENSIONS for sex in SEXES]
    head = ["age", *(f"{NAMES[dimension]}, {WHO[sex]}" for dimension, sex in columns)]
    lines = [head, ["---"] * len(head)]
    lines += [[str(age), *(cell(foreseen(*column, age)) for column in columns)] for age in AGES]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def main() -> None:
    print(f"Months until {ROOM:.0%} of room is used up, {MODEL}:\n\n{table()}")


if __name__ == "__main__":
    main()
