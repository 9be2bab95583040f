"""The rows for limits in a socket's form: what each asks for, and what is known of that place already."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from service.anthropometry.dimensions import CATALOGUE, Dimension, DimensionFacts
from service.devices.rules import usual_limits
from service.devices.schemas import LimitView
from service.measurements.rules import Place, levels_to_offer
from service.measurements.schemas import StandingReading
from service.recipients.rules import Level, Side

LEAST_GIRTHS = 2
"""A socket is tight somewhere along the limb, so a girth is asked for at two levels or more."""


@dataclass(frozen=True)
class LimitRow:
    """A row: the dimension is fixed, or None for one to choose; the level offered may be None, to be filled in.

    `counted_from` is the landmark of its level in words, empty while the dimension is to be chosen. `before` is the
    limit there of the socket before, `measured` the newest reading there; either may be None.
    """

    dimension: Dimension | None
    level_mm: float | None = None
    counted_from: str = ""
    before: LimitView | None = None
    measured: StandingReading | None = None

    @property
    def needs_level(self) -> bool:
        """Whether it asks for a level: of a girth, and of what is still to be chosen."""
        return self.dimension is None or CATALOGUE[self.dimension].needs_level

    @property
    def facts(self) -> DimensionFacts | None:
        """What the catalogue says of the dimension; None while it is to be chosen."""
        return CATALOGUE[self.dimension] if self.dimension else None

    @property
    def drawn(self) -> tuple[Dimension, float | None, str] | None:
        """How the drawing of the limb shows it: dimension, level and a short label; None while its place is open."""
        if self.dimension is None or (self.needs_level and self.level_mm is None):
            return None
        if self.level_mm is not None:
            return self.dimension, self.level_mm, f"{self.level_mm:g} mm"
        return self.dimension, None, "length" if self.dimension.endswith("length") else "breadth"


@dataclass(frozen=True)
class Limited:
    """What is known where a socket is to be limited: the side, the socket before, and every reading that counts."""

    side: Side
    ends_at: Level | None
    before: Sequence[LimitView]
    readings: Sequence[StandingReading]
    today: date

    def rows(self) -> list[LimitRow]:
        """What the socket before was limited by, then what is usual, then one to choose freely."""
        dimensions = dict.fromkeys([*(limit.dimension for limit in self.before), *usual_limits(self.ends_at)])
        return [*(row for dimension in dimensions for row in self._rows(dimension)), LimitRow(None)]

    def _rows(self, dimension: Dimension) -> Iterator[LimitRow]:
        for level in self._levels(dimension):
            place = self._place(dimension, level)
            yield LimitRow(dimension, level, place.counted_from, self._limit_before(place), self._newest(place))

    def _levels(self, dimension: Dimension) -> list[float | None]:
        """The levels of the socket before and those measured, at least two of them or left open, and one more."""
        if not CATALOGUE[dimension].needs_level:
            return [None]
        of_socket = [each.level_mm for each in self.before if each.dimension is dimension and each.level_mm is not None]
        measured = [each.known for each in self.readings if each.place == self._place(dimension, each.level_mm)]
        levels: list[float | None] = [*levels_to_offer(of_socket, measured, self.today)]
        return levels + [None] * (max(LEAST_GIRTHS - len(levels), 0) + 1)

    def _place(self, dimension: Dimension, level_mm: float | None) -> Place:
        return Place.on_limb(self.ends_at, dimension, self.side, level_mm)

    def _limit_before(self, place: Place) -> LimitView | None:
        return next((each for each in self.before if (each.dimension, each.level_mm) == _where(place)), None)

    def _newest(self, place: Place) -> StandingReading | None:
        if place.facts.needs_level and place.level_mm is None:
            return None
        return newest_near(self.readings, place)


def newest_near(readings: Sequence[StandingReading], place: Place) -> StandingReading | None:
    """The last of some readings, oldest first, that can be compared with one at a place."""
    return next((each for each in reversed(readings) if each.place.near(place)), None)


def _where(place: Place) -> tuple[Dimension, float | None]:
    return place.dimension, place.level_mm
