"""What a reading is: how it was taken, where on the body, in which numbers.

Sizes are millimetres, weight is kilograms. Whether a reading can be right is judged in `plausibility.py`.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from statistics import median

from service.anthropometry import CATALOGUE, SAME_LEVEL_MM, Dimension, DimensionFacts, parse_size, short_landmark
from service.anthropometry.units import UNITS
from service.kit.errors import FieldError
from service.recipients.rules import CaseState, Level, Sex, Side


class Method(enum.StrEnum):
    """How a session was taken; each has its own measurement error."""

    TAPE = "tape"
    CAST = "cast"
    SCAN = "scan"
    CLINIC_LETTER = "clinic_letter"
    FAMILY = "family"


@dataclass(frozen=True, slots=True)
class Person:
    """What is known of whoever is measured; `limbs` says where an affected side ends."""

    birth_date: date
    sex: Sex
    limbs: dict[Side, Level]

    def age_on(self, day: date) -> float:
        """Years since birth."""
        return (day - self.birth_date).days / 365.25

    def is_above_forearm(self, side: Side | None) -> bool:
        """Whether the limb of a side ends at the elbow or above."""
        return ends_above_forearm(self.limbs.get(side) if side else None)


def ends_above_forearm(level: Level | None) -> bool:
    """Whether a limb ends at the elbow or above, given where it ends; a sound arm (None) does not."""
    return level is not None and level.is_above_forearm


@dataclass(frozen=True, slots=True)
class Place:
    """What is measured and where: readings of the same place can be compared. Level in mm from the landmark.

    An empty `landmark` is the dimension's own, whatever the limb.
    """

    dimension: Dimension
    side: Side | None = None
    level_mm: float | None = None
    landmark: str = ""

    @classmethod
    def on_limb(
        cls, ends_at: Level | None, dimension: Dimension, side: Side | None, level_mm: float | None, landmark: str = ""
    ) -> Place:
        """A place as it is kept, on a limb that ends at a level (None for a sound arm).

        Without a landmark it is counted from the usual one: the dimension's own, or the acromion on a residual limb
        that ends at the elbow or above, since that has no forearm to measure along.
        """
        kept = CATALOGUE[dimension].kept_landmark(landmark, above_elbow=ends_above_forearm(ends_at))
        return cls(dimension, side, level_mm, kept)

    @property
    def counted_from(self) -> str:
        """The landmark in words."""
        return self.landmark or self.facts.landmark

    @property
    def facts(self) -> DimensionFacts:
        """What the catalogue says of the dimension."""
        return CATALOGUE[self.dimension]

    def near(self, other: Place) -> bool:
        """Whether readings here and there can be compared: the same place, or levels a tape hardly tells apart."""
        if (self.dimension, self.side, self.landmark) != (other.dimension, other.side, other.landmark):
            return False
        if self.level_mm is None or other.level_mm is None:
            return self.level_mm is other.level_mm
        return abs(self.level_mm - other.level_mm) <= SAME_LEVEL_MM

    @property
    def words(self) -> str:
        """The place as people say it: "left residual limb girth at 60 mm"."""
        side = f"{self.side} " if self.side else ""
        level = f" at {self.level_mm:g} mm" if self.level_mm is not None else ""
        return f"{side}{self.facts.label}{level}{self.from_where}"

    @property
    def from_where(self) -> str:
        """What goes on after a level: " from the acromion", or nothing where it is the dimension's own landmark."""
        return f" from {short_landmark(self.landmark)}" if self.landmark else ""


MOST_LEVELS = 4
"""Levels of one girth that a form offers: more would not be measured."""

STILL_OF_USE = timedelta(days=730)
"""A level not measured for so long is not offered again."""


def levels_to_offer(wanted: Iterable[float], measured: Iterable[Known], today: date) -> list[float]:
    """The levels (mm) of a girth that a form offers: those wanted, then those measured of late, the newest first.

    Levels that a tape hardly tells apart are offered once; no more than `MOST_LEVELS`; in order along the limb.
    """
    of_late = sorted((each for each in measured if today - each.on <= STILL_OF_USE), key=lambda each: each.on)
    offered: list[float] = []
    for level in (*wanted, *(each.place.level_mm for each in reversed(of_late))):
        if level is not None and all(abs(level - other) > SAME_LEVEL_MM for other in offered):
            offered.append(level)
    return sorted(offered[:MOST_LEVELS])


@dataclass(frozen=True, slots=True)
class Given:
    """A reading as it was written down: one to three numbers in a unit that fits the dimension."""

    place: Place
    typed: tuple[Decimal, ...]
    unit: str

    @property
    def repeats(self) -> list[float]:
        """The numbers in mm or kg."""
        return [parse_size(number, self.unit, self.place.facts.unit) for number in self.typed]

    @property
    def value(self) -> float:
        """The median of the repeats."""
        return median(self.repeats)

    @property
    def spread(self) -> float:
        """The largest repeat less the smallest."""
        return max(self.repeats) - min(self.repeats)


@dataclass(frozen=True, slots=True)
class Known:
    """A reading already on record and not struck through."""

    on: date
    place: Place
    value: float
    method: Method


def why_unheeded(state: CaseState) -> str | None:
    """What to know before measuring for a case that nobody follows just now, or None; it is measured all the same."""
    return _UNHEEDED.get(state)


_UNHEEDED = {
    CaseState.PAUSED: (
        "This case is paused. What is measured is recorded, but nobody is asked to measure again, or to start a socket "
        "unless the one worn may be tight already."
    ),
    CaseState.CLOSED: (
        "This case is closed. What is measured is recorded, but nobody is asked to act on it, even if a socket is "
        "tight. If the person is to be followed again, ask a coordinator to make the case active."
    ),
}


def place_problem(place: Place) -> FieldError | None:
    """What is missing from, or too much in, where a reading was taken; the field is a reading's."""
    facts = place.facts
    if facts.needs_side and place.side is None:
        return FieldError("side", f"Say whether the {facts.label} is of the left or the right side.")
    if not facts.needs_side and place.side is not None:
        return FieldError("side", f"Leave the side out: {facts.label} is of the whole body.")
    if facts.needs_level and place.level_mm is None:
        asked = f"Say at which level the {facts.label} was taken, in mm from {place.counted_from}."
        return FieldError("level_mm", asked)
    if not facts.needs_level and place.level_mm is not None:
        return FieldError("level_mm", f"Leave the level out: {facts.label} is not taken at a level.")
    return None


def unit_problem(place: Place, unit: str) -> FieldError | None:
    """Why a unit does not fit what is measured; the field is a reading's."""
    units = UNITS[place.facts.unit]
    if unit in units:
        return None
    return FieldError("unit", f"A {place.facts.label} is not measured in {unit}. Use one of {', '.join(units)}.")
