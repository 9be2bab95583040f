"""Whether a socket's limit can be right: what is impossible, what is surprising, and which slip would explain it.

A limit is held against the reading of that place taken nearest in time to the fitting, or, where nothing was measured,
against the reference for age and sex. Pure: dates are passed in. Sentences never blame. Sizes and levels are in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import exp

from service.anthropometry import largest_believable_growth
from service.kit.days import full_day
from service.kit.errors import Doubt
from service.measurements.plausibility import Judge
from service.measurements.rules import Given, Known, Method, Person, Place

# A limit so much below the limb, as a share of it, may still be the tape's doing; and so may a few millimetres.
_TAPE_SHARE, _TAPE_MM = 0.05, 3.0

# A level so many times nearer to the landmark, or farther from it, than any that was measured.
_LEVELS_APART = 3

# Growth room, as a share of the limb: sockets are made with a few per cent, thick socks and a liner take more.
_MOST_ROOM = 0.40


@dataclass(frozen=True, slots=True)
class LimitJudge:
    """Judges the limits of a socket fitted on a day, against what was measured of its wearer."""

    person: Person
    fitted_on: date
    known: Sequence[Known]

    def impossible(self, place: Place, tight_at_mm: float) -> str | None:
        """Why no limb has such a size, with the slip that would explain it; None when one may."""
        if tight_at_mm <= 0:
            return "A size is more than 0 mm. Look at the number again."
        given = Given(place, (Decimal(f"{tight_at_mm:.10g}"),), "mm")
        # Not against history: a limit lies beyond what was measured, which there would speak against the likely slip.
        found = Judge(self.person, self.fitted_on, Method.TAPE, ()).impossible(given)
        return found[0].message if found else None

    def doubts(self, place: Place, tight_at_mm: float) -> list[Doubt]:
        """What would be surprising about a possible limit; fields are a limit's."""
        return [
            *(Doubt("level_mm", sentence) for sentence in self._about_the_level(place)),
            *(Doubt("tight_at_mm", sentence) for sentence in self._about_the_size(place, tight_at_mm)),
        ]

    def _about_the_level(self, place: Place) -> Iterator[str]:
        measured = [each.place for each in self.known if _counted_alike(each.place, place)]
        levels = sorted({each.level_mm for each in measured if each.level_mm is not None})
        if place.level_mm is None or not levels:
            return
        # A socket has limits where nobody measured; a level far off all that were is a slip, such as 3 for 30.
        if levels[0] / _LEVELS_APART <= place.level_mm <= levels[-1] * _LEVELS_APART:
            return
        yield (
            f"The {place.facts.label} was never measured at {place.level_mm:g} mm, only at "
            f"{' and '.join(f'{level:g} mm' for level in levels)}. Look at the level once more."
        )

    def _about_the_size(self, place: Place, tight_at_mm: float) -> Iterator[str]:
        there = [each for each in self.known if each.place.near(place)]
        if not there:
            yield from Judge(self.person, self.fitted_on, Method.TAPE, ()).unusual(place, tight_at_mm)
            return
        nearest = min(there, key=lambda each: abs((each.on - self.fitted_on).days))
        smallest, largest = self._limb_at_fitting(nearest)
        measured = f"{nearest.value:.1f} mm on {full_day(nearest.on)}"
        if tight_at_mm < min(smallest * (1 - _TAPE_SHARE), smallest - _TAPE_MM):
            yield (
                f"{tight_at_mm:.1f} mm is less than the limb itself measured there: {measured}. Such a socket would "
                "have been too tight from the first day. Look at the place and the number once more."
            )
        elif tight_at_mm > largest * (1 + _MOST_ROOM):
            yield (
                f"{tight_at_mm:.1f} mm is far more than the limb measured there: {measured}. Hardly any socket has so "
                "much room. Look at the place and the number once more."
            )

    def _limb_at_fitting(self, reading: Known) -> tuple[float, float]:
        """Between which sizes the limb was on the day of the fitting, if it grows as limbs do."""
        days = (self.fitted_on - reading.on).days
        age = self.person.age_on(min(reading.on, self.fitted_on))
        above = self.person.is_above_forearm(reading.place.side)
        growth = exp(largest_believable_growth(reading.place.dimension, age, abs(days), above_elbow=above))
        return (reading.value, reading.value * growth) if days >= 0 else (reading.value / growth, reading.value)


def _counted_alike(one: Place, other: Place) -> bool:
    """Whether two levels are of one girth and counted from one landmark."""
    return (one.dimension, one.side, one.landmark) == (other.dimension, other.side, other.landmark)
