"""The measuring form: which rows it offers for somebody's limbs, and how what was typed becomes a command.

A row's key, such as `residual_limb_girth-left-2`, names its fields: `…-1` to `…-3` hold the repeats and `…-level` the
level, which stays free to change.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.anthropometry import CATALOGUE, Dimension, reference
from service.anthropometry.units import in_millimetres, split_unit
from service.kit.errors import Doubt, Doubted, FieldError, Invalid
from service.measurements.rules import Method, Person, Place, levels_to_offer
from service.measurements.schemas import MOST_REPEATS, StandingReading
from service.recipients.rules import Level, Side

UNIT_FIELD = {Dimension.HEIGHT: "height_unit", Dimension.WEIGHT: "weight_unit"}
ARM_UNIT_FIELD = "unit"

METHODS = [
    (Method.TAPE, "With a tape"),
    (Method.CAST, "From a cast"),
    (Method.SCAN, "From a scan"),
    (Method.CLINIC_LETTER, "From a clinic's letter"),
    (Method.FAMILY, "The family measured"),
]
"""How a session may have been taken, as a form says it."""

_BODY = "body"
_REPEAT = re.compile(rf"(?P<key>(?P<dimension>[a-z_]+)-(?P<side>left|right|{_BODY})-(?P<n>\d\d?))-[1-{MOST_REPEATS}]")

# The share of the forearm, or of the upper arm, that a limb ending at a level may still have.
_OF_FOREARM = {
    Level.FOREARM_UPPER: 1 / 3,
    Level.FOREARM_MIDDLE: 2 / 3,
    Level.FOREARM_LOWER: 1.0,
    Level.WRIST: 1.0,
    Level.CARPAL: 1.0,
}
_OF_UPPER_ARM = {
    Level.UPPER_ARM_UPPER: 1 / 3,
    Level.UPPER_ARM_MIDDLE: 2 / 3,
    Level.UPPER_ARM_LOWER: 1.0,
    Level.ELBOW: 1.0,
}
# Allowances, good enough to choose which levels to offer: a long forearm, and an upper arm beside a forearm.
_LONG, _UPPER_ARM_TO_FOREARM = 1.15, 1.3
_USUAL_LEVELS_MM = (30.0, 60.0, 90.0)
# From the acromion: a tape goes round an arm only below the armpit. Judgement.
_BELOW_THE_ARMPIT_MM = (80.0, 120.0, 160.0)


@dataclass(frozen=True, slots=True)
class Row:
    """One reading that may be taken: up to three repeats. A girth's level may still be open."""

    key: str
    place: Place
    last: StandingReading | None

    @property
    def last_size(self) -> str | None:
        """The last value as the field's usual unit has it: height in cm."""
        if self.last is not None and self.place.dimension is Dimension.HEIGHT:
            return f"{self.last.value / 10:.1f} cm"
        return self.last.size if self.last else None


@dataclass(frozen=True, slots=True)
class Section:
    """The rows of one arm; `level` says where it ends, None for a sound one."""

    side: Side
    level: Level | None
    rows: list[Row]

    @property
    def drawn(self) -> list[tuple[Dimension, float | None, str]]:
        """What the drawing of the arm shows: dimension, level and a label short enough to stand beside it."""
        placed = [row.place for row in self.rows if row.place.level_mm is not None or not row.place.facts.needs_level]
        return [(place.dimension, place.level_mm, self._label(place)) for place in placed]

    @staticmethod
    def _label(place: Place) -> str:
        if place.level_mm is not None:
            return f"{place.level_mm:g} mm"
        return "length" if place.dimension.endswith("length") else "breadth"


@dataclass(frozen=True, slots=True)
class Offer:
    """What the form offers to measure, from what is known of somebody and what was typed already.

    `last` is the newest reading of every place, `limited` are the places where a socket that is worn has a limit.
    """

    person: Person
    last: Mapping[Place, StandingReading]
    limited: Sequence[Place]
    today: date
    typed: Mapping[str, str]

    def arms(self) -> list[Section]:
        """Each arm with something to measure, the affected first; what was measured before is offered again."""
        found = []
        for side in sorted(Side, key=lambda side: side not in self.person.limbs):
            level = self.person.limbs.get(side)
            before = [
                place.dimension for place in self.last if place == self._place(place.dimension, side, place.level_mm)
            ]
            limited = [place.dimension for place in self.limited if place.side is side]
            dimensions = dict.fromkeys([*_usually_measured(level), *before, *limited])
            rows = [row for dimension in dimensions for row in self._rows(dimension, side)]
            found.append(Section(side, level, rows))
        return [section for section in found if section.rows]

    def body(self) -> list[Row]:
        """Height and weight."""
        places = [Place(Dimension.HEIGHT), Place(Dimension.WEIGHT)]
        return [Row(f"{place.dimension}-{_BODY}-1", place, self.last.get(place)) for place in places]

    def _rows(self, dimension: Dimension, side: Side) -> Iterator[Row]:
        for n, level_mm in enumerate(self._levels(dimension, side), start=1):
            place = self._place(dimension, side, level_mm)
            yield Row(f"{dimension}-{side}-{n}", place, self._last_near(place))

    def _place(self, dimension: Dimension, side: Side, level_mm: float | None) -> Place:
        """A place counted from the usual landmark of the limb: what the form says it asks for."""
        return Place.on_limb(self.person.limbs.get(side), dimension, side, level_mm)

    def _last_near(self, place: Place) -> StandingReading | None:
        if place.facts.needs_level and place.level_mm is None:
            return None
        near = (reading for there, reading in self.last.items() if there.near(place))
        return max(near, key=lambda reading: reading.on, default=None)

    def _levels(self, dimension: Dimension, side: Side) -> list[float | None]:
        """The socket's levels and those measured of late, or the usual ones, and an open one; as many as were typed."""
        if not CATALOGUE[dimension].needs_level:
            return [None]
        here = [each.known for each in self.last.values() if each.place == self._place(dimension, side, each.level_mm)]
        limited = [each.level_mm for each in self.limited if (each.dimension, each.side) == (dimension, side)]
        again = levels_to_offer([level for level in limited if level is not None], here, self.today)
        levels: list[float | None] = [*(again or self._usual_levels(dimension, side)), None]
        repeats = [found for found in map(_REPEAT.fullmatch, self.typed) if found]
        typed = [int(each["n"]) for each in repeats if (each["dimension"], each["side"]) == (dimension, side)]
        return levels + [None] * (max(typed, default=0) - len(levels))

    def _usual_levels(self, dimension: Dimension, side: Side) -> list[float]:
        """The usual levels as far as the limb reaches, and always the first."""
        level, known = (
            self.person.limbs.get(side),
            self.last.get(self._place(Dimension.RESIDUAL_LIMB_LENGTH, side, None)),
        )
        curve = reference(Dimension.FOREARM_LENGTH, self.person.sex.value)
        forearm = _LONG * float(curve.median(self.person.age_on(self.today)))
        above = self.person.is_above_forearm(side)
        on_upper_arm = above or dimension is Dimension.UPPER_ARM_GIRTH
        if known is not None and on_upper_arm == above:
            reach = known.value
        elif on_upper_arm:
            reach = forearm * _UPPER_ARM_TO_FOREARM * (_OF_UPPER_ARM.get(level, 1.0) if level else 1.0)
        else:
            reach = forearm * (_OF_FOREARM.get(level, 1.0) if level else 1.0)
        usual = _BELOW_THE_ARMPIT_MM if on_upper_arm else _USUAL_LEVELS_MM
        return [mm for mm in usual if mm <= reach] or [usual[0]]


def _usually_measured(level: Level | None) -> tuple[Dimension, ...]:
    if level in _OF_FOREARM or level in _OF_UPPER_ARM:
        return Dimension.RESIDUAL_LIMB_GIRTH, Dimension.RESIDUAL_LIMB_LENGTH
    if level in {Level.PHALANGEAL, Level.METACARPAL}:
        return Dimension.HAND_BREADTH, Dimension.FOREARM_GIRTH
    return () if level is Level.SHOULDER else (Dimension.HAND_LENGTH, Dimension.HAND_BREADTH)


@contextmanager
def _renamed(name: Callable[[str], str]) -> Iterator[None]:
    try:
        yield
    except Doubted as refusal:
        raise Doubted(tuple(Doubt(name(each.field), each.message) for each in refusal.doubts)) from refusal
    except Invalid as refusal:
        fields = tuple(FieldError(name(each.field), each.message) for each in refusal.fields)
        raise Invalid(refusal.detail, fields=fields) from refusal


def repeats_as_one() -> AbstractContextManager[None]:
    """A refusal of one of several repeats, such as `values.1`, names the field that stands for them all."""
    return _renamed(lambda path: path.partition(".")[0])


@dataclass(frozen=True, slots=True)
class Typed:
    """A filled-in form: the values of a command, and which row each of its readings came from."""

    values: dict[str, Any]
    keys: list[str]

    def fields_as_typed(self) -> AbstractContextManager[None]:
        """A refusal inside names the form's fields instead of the command's."""
        return _renamed(self._field)

    def _field(self, path: str) -> str:
        reading = re.fullmatch(r"readings\.(\d+)(?:\.(\w+).*)?", path)
        if reading is None:
            return path
        key = self.keys[int(reading[1])]
        if reading[2] == "unit":
            return UNIT_FIELD.get(Dimension(key.partition("-")[0]), ARM_UNIT_FIELD)
        return f"{key}-level" if reading[2] == "level_mm" else key


def in_one_unit(written: Sequence[str]) -> tuple[list[str], str | None]:
    """Repeats as numbers, and the unit written after them or None; different units are left as they are."""
    split = [split_unit(text) for text in written]
    units = {unit for _, unit in split if unit is not None}
    return (list(written), None) if len(units) > 1 else ([number for number, _ in split], next(iter(units), None))


def read(filled: Mapping[str, str]) -> Typed:
    """What was typed; raises Invalid when no reading was."""
    rows = {
        found["key"]: found for found in map(_REPEAT.fullmatch, filled) if found and found["dimension"] in CATALOGUE
    }
    if not rows:
        raise Invalid("Type at least one reading.")
    readings = []
    for key, found in rows.items():
        dimension = Dimension(found["dimension"])
        written = [filled[f"{key}-{n}"] for n in range(1, MOST_REPEATS + 1) if f"{key}-{n}" in filled]
        numbers, unit = in_one_unit(written)
        reading: dict[str, Any] = {
            "dimension": dimension,
            "side": None if found["side"] == _BODY else found["side"],
            "values": numbers,
            "unit": unit or filled.get(UNIT_FIELD.get(dimension, ARM_UNIT_FIELD)),
        }
        if f"{key}-level" in filled:
            reading["level_mm"] = in_millimetres(filled[f"{key}-level"])
        readings.append(reading)
    named = ("taken_on", "method", "taken_by", "note", "confirmed")
    values = {name: filled[name] for name in named if name in filled}
    return Typed({**values, "readings": readings}, list(rows))
