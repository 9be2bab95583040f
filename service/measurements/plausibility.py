"""Whether a reading can be right: what is impossible, what is surprising, and which slip would explain it.

A reading is judged against human bounds, the reference for age and sex, and what was measured of the same recipient
before and after. Pure: dates are passed in. Sentences are for the person who holds the tape; they never blame.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from service import anthropometry
from service.anthropometry import Dimension, largest_believable_growth, reference
from service.anthropometry.units import UNITS
from service.kit.days import full_day
from service.kit.errors import Doubt, FieldError
from service.measurements.rules import Given, Known, Method, Person, Place
from service.recipients.rules import Level

ERROR = {Method.SCAN: 0.010, Method.TAPE: 0.015, Method.CAST: 0.015, Method.CLINIC_LETTER: 0.015, Method.FAMILY: 0.020}
"""SD of log size of one reading, by method: with a tape 2 to 3 mm on a child's arm."""

# A difference smaller than this is the tape's (or the scale's), whatever the size of the limb.
_NO_NEWS = {"mm": 3.0, "kg": 0.5}

# Log shrinkage that is not yet a surprise, and the most that a rough method may add to it.
_SHRINKS = {Dimension.HEIGHT: (0.02, 0.02), Dimension.WEIGHT: (0.10, 0.12)}
_LIMB_SHRINKS = (0.05, 0.06)

# How far repeats of one reading may lie apart, as a share of their median.
_REPEATS_APART = {Dimension.HEIGHT: 0.015}
_LIMB_REPEATS_APART = 0.04

# From the reference median, in its standard deviations; those that borrow another's table are known less well.
_FURTHEST, _FURTHEST_BORROWED = 4.0, 5.0
_BORROWED = {Dimension.RESIDUAL_LIMB_GIRTH, Dimension.RESIDUAL_LIMB_LENGTH, Dimension.EPICONDYLAR_BREADTH}

# The reference is for the fullest girth; towards the wrist an arm may be so much thinner, as a log.
_TAPER = 0.6

_HAND = {Dimension.HAND_LENGTH, Dimension.HAND_BREADTH}
_RESIDUAL = {Dimension.RESIDUAL_LIMB_GIRTH, Dimension.RESIDUAL_LIMB_LENGTH}
_LEVELS_WITH_A_HAND = {Level.PHALANGEAL, Level.METACARPAL}

# The sound arm's girth may be written down as the residual limb's, and the other way round; which part of the arm a
# residual limb is shows in where it is counted from.
_EITHER_GIRTH = {Dimension.RESIDUAL_LIMB_GIRTH, Dimension.FOREARM_GIRTH, Dimension.UPPER_ARM_GIRTH}


@dataclass(frozen=True, slots=True)
class Judge:
    """Judges the readings one session has of one person, against what is known from other sessions."""

    person: Person
    on: date
    method: Method
    known: Sequence[Known]

    def impossible(self, given: Given) -> list[FieldError]:
        """What no human body measures, each with the slip that would explain it; fields are a reading's."""
        facts = given.place.facts
        found = []
        for index, (number, value) in enumerate(zip(given.typed, given.repeats, strict=True)):
            if facts.smallest <= value <= facts.largest:
                continue
            bound, limit = ("larger", facts.largest) if value > facts.largest else ("smaller", facts.smallest)
            message = f"{number:f} {given.unit} is {bound} than any {facts.label} ({limit:g} {facts.unit})"
            slip = self._slip(given.place, number, given.unit)
            asked = f": did you mean {slip}?" if slip else ". Look at the number and its unit again."
            found.append(FieldError(f"values.{index}", message + asked))
        return found

    def doubts(self, given: Given) -> list[Doubt]:
        """What would be surprising about a possible reading; empty when nothing is."""
        place, value = given.place, given.value
        found = [*self._about_the_place(place), *self._about_repeats(given)]
        about_size = self._swapped(place, value) or [*self._history(place, value), *self.unusual(place, value)]
        if about_size:
            slip = None if self._believable(place, value) else self._slip(place, given.typed[0], given.unit)
            found.append(" ".join([*about_size, f"Did you perhaps mean {slip}?"] if slip else about_size))
        said = place.words[0].upper() + place.words[1:]
        return [Doubt("values", f"{said}: {sentence}") for sentence in found]

    def unusual(self, place: Place, value: float) -> list[str]:
        """What is surprising about a size (mm or kg) for somebody's age and sex; empty when nothing is."""
        if self._unsurprising(place, value):
            return []
        curve, age = self._curve(place), self.person.age_on(self.on)
        low, high = (float(np.exp(curve.log_median(age) + z * curve.log_sd(age))) for z in (-2, 2))
        usual = f"about {low:.0f} to {high:.0f} {place.facts.unit}"
        return [f"{_size(value, place)} is far from what is usual at {age:.0f} years ({usual})."]

    def _about_the_place(self, place: Place) -> Iterator[str]:
        today = next((each for each in self.known if each.on == self.on and each.place.near(place)), None)
        if today is not None:
            yield (
                f"{_size(today.value, place)} is already recorded for this day. Record it again only if it was measured"
                " again; to put a slip right, correct the reading instead."
            )
        if place.side is None or not self.person.limbs:
            return
        level = self.person.limbs.get(place.side)
        if place.dimension in _RESIDUAL and level is None:
            yield f"no limb difference is recorded on the {place.side}. Is it the other side?"
        if place.dimension in _HAND and level is not None and level not in _LEVELS_WITH_A_HAND:
            yield f"the {place.side} arm is recorded as ending above the hand. Is it the other side?"

    def _about_repeats(self, given: Given) -> Iterator[str]:
        place = given.place
        share = _REPEATS_APART.get(place.dimension, _LIMB_REPEATS_APART)
        if given.spread > max(share * given.value, _NO_NEWS[place.facts.unit]):
            yield (
                f"the repeats lie {_size(given.spread, place)} apart. Measure once more at the same place,"
                " and leave out the one that was a slip."
            )

    def _swapped(self, place: Place, value: float) -> list[str]:
        own, other = self._before(place), self._other_side(place)
        if own is None or other is None:
            return []
        from_own, from_other = (abs(self._beyond_usual(each, value)) for each in (own, other))
        if from_own <= _LIMB_SHRINKS[0] or from_other >= from_own / 2:
            return []
        theirs, ours = (f"{_size(each.value, place)} on {full_day(each.on)}" for each in (other, own))
        asked = "Are left and right swapped?"
        return [f"{_size(value, place)} is close to the {other.place.words} ({theirs}), far from {ours} here. {asked}"]

    def _history(self, place: Place, value: float) -> list[str]:
        """What is surprising about a size, coming from the one before it and going to the one after it."""
        this = Known(self.on, place, value, self.method)
        before, after = self._before(place), self._after(place)
        steps = [(before, this)] if before else []
        steps += [(this, after)] if after else []
        return [self._step_in_words(*step, this) for step in steps if not self._step_believable(*step)]

    def _step_believable(self, first: Known, second: Known) -> bool:
        place = first.place
        if abs(second.value - first.value) < _NO_NEWS[place.facts.unit]:
            return True
        error = 2.5 * float(np.hypot(ERROR[first.method], ERROR[second.method]))
        least, most = _SHRINKS.get(place.dimension, _LIMB_SHRINKS)
        days = (second.on - first.on).days
        above = self.person.is_above_forearm(place.side)
        age = self.person.age_on(first.on)
        grows = largest_believable_growth(place.dimension, age, days, above_elbow=above) + error
        return -min(max(least, error), most) <= float(np.log(second.value / first.value)) <= grows

    def _step_in_words(self, first: Known, second: Known, this: Known) -> str:
        other = first if this is second else second
        percent = abs(100 * (this.value / other.value - 1))
        direction = "smaller" if this.value < other.value else "larger"
        seldom = (
            "A limb or a body seldom shrinks like that"
            if second.value < first.value
            else f"Hardly anybody grows so much in {_days((second.on - first.on).days)}"
        )
        theirs = f"{_size(other.value, this.place)} of {full_day(other.on)}"
        return (
            f"{_size(this.value, this.place)} is {percent:.0f} % {direction} than the {theirs}."
            f" {seldom}: look at the place, the tape and the number once more."
        )

    def _unsurprising(self, place: Place, value: float) -> bool:
        """Whether a size is near the reference, or its owner is known to be far from it."""
        before = self._before(place)
        known_to_be_far = before is not None and not self._near_reference(place, before.value, before.on)
        return known_to_be_far or self._near_reference(place, value, self.on)

    def _near_reference(self, place: Place, value: float, on: date) -> bool:
        curve, age = self._curve(place), self.person.age_on(on)
        furthest = (_FURTHEST_BORROWED if place.dimension in _BORROWED else _FURTHEST) * float(curve.log_sd(age))
        taper = _TAPER if place.facts.needs_level else 0.0
        return -furthest - taper <= float(np.log(value) - curve.log_median(age)) <= furthest

    def _believable(self, place: Place, value: float) -> bool:
        """Whether a size would meet neither an objection nor a doubt of its own."""
        if not place.facts.smallest <= value <= place.facts.largest:
            return False
        return self._unsurprising(place, value) and not self._history(place, value)

    def _slip(self, place: Place, number: Decimal, unit: str) -> str | None:
        """What was probably meant: another unit, or the point elsewhere; only what would itself be believed."""
        units = UNITS[place.facts.unit]
        meant = []
        for other in (each for each in units if each != unit):
            value = float(number * units[other])
            said = _size(value, place)
            meant.append((value, said if other == place.facts.unit else f"{number:f} {other} ({said})"))
        for power in (-3, -2, -1, 1, 2, 3):
            value = float(number * units[unit] * Decimal(10) ** power)
            meant.append((value, _size(value, place)))
        believed = [each for each in meant if self._believable(place, each[0])]
        before = self._before(place)
        expected = before.value if before else float(self._curve(place).median(self.person.age_on(self.on)))
        likeliest = min(believed, key=lambda each: abs(float(np.log(each[0] / expected))), default=None)
        return likeliest[1] if likeliest else None

    def _curve(self, place: Place) -> anthropometry.Curve:
        above = self.person.is_above_forearm(place.side)
        return reference(place.dimension, self.person.sex.value, above_elbow=above)

    def _beyond_usual(self, known: Known, value: float) -> float:
        """Log distance of a size from a known one, less the growth usual since."""
        curve = self._curve(known.place)
        usual = curve.log_median(self.person.age_on(self.on)) - curve.log_median(self.person.age_on(known.on))
        return float(np.log(value / known.value) - usual)

    def _before(self, place: Place) -> Known | None:
        earlier = (each for each in self.known if each.place.near(place) and each.on < self.on)
        return max(earlier, key=lambda each: (each.on, -_apart(each.place, place)), default=None)

    def _after(self, place: Place) -> Known | None:
        later = (each for each in self.known if each.place.near(place) and each.on > self.on)
        return min(later, key=lambda each: (each.on, _apart(each.place, place)), default=None)

    def _other_side(self, place: Place) -> Known | None:
        """The last reading of the same part of the other arm."""
        alike = _EITHER_GIRTH if place.dimension in _EITHER_GIRTH else {place.dimension}
        there = (
            each
            for each in self.known
            if each.on < self.on
            and each.place.dimension in alike
            and None not in {place.side, each.place.side}
            and each.place.side != place.side
            and each.place.counted_from == place.counted_from
            and replace(each.place, dimension=place.dimension, side=place.side, landmark=place.landmark).near(place)
        )
        return max(there, key=lambda each: (each.on, -_apart(each.place, place)), default=None)


def _apart(one: Place, other: Place) -> float:
    return abs((one.level_mm or 0.0) - (other.level_mm or 0.0))


def _size(value: float, place: Place) -> str:
    return f"{value:.1f} {place.facts.unit}"


def _days(days: int) -> str:
    return "a day" if days == 1 else f"{days} days"
