"""Commands and views of measurements."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, ConfigDict, Field, StringConstraints

from service.anthropometry import CATALOGUE, Dimension
from service.kit.days import full_day
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.measurements.rules import Known, Method, Place
from service.recipients.rules import Level, Side

Unit = Literal["mm", "cm", "m", "in", "kg", "g", "lb"]
SMALLEST_NUMBER, LARGEST_NUMBER = 0.001, 10_000_000
MOST_REPEATS = 3
MOST_READINGS = 60


def _as_written(number: Any) -> Any:
    if isinstance(number, bool) or not isinstance(number, int | float | str | Decimal):
        raise ValueError("Write the size as a number, such as 171.5")  # noqa: TRY004 Pydantic reports ValueError
    return number.strip().replace(",", ".") if isinstance(number, str) else number


def _at_least_one(readings: tuple[Any, ...]) -> tuple[Any, ...]:
    if not readings:
        raise ValueError("Give at least one reading")
    return readings


def _one_to_three(values: tuple[Decimal, ...]) -> tuple[Decimal, ...]:
    if not 1 <= len(values) <= MOST_REPEATS:
        raise ValueError("Give one, two or three numbers: the repeats of one reading")
    return values


Number = Annotated[Decimal, BeforeValidator(_as_written), Field(ge=SMALLEST_NUMBER, le=LARGEST_NUMBER, max_digits=30)]
"""A size as written down; a decimal comma in a string is understood."""


class AddReading(Command):
    """One dimension, on one side, at one level: one to three repeats in the unit they were read in."""

    dimension: Dimension
    side: Side | None = None
    level_mm: Annotated[float, Field(ge=0, le=600, description="Distance from the landmark, in mm.")] | None = None
    landmark: Annotated[
        Text,
        StringConstraints(max_length=100),
        Field(
            description="Where it is counted from, if not from the usual landmark: the dimension's own, or the "
            "acromion for a residual limb that ends at the elbow or above. What is not the dimension's own is kept in "
            "words."
        ),
    ] = ""
    values: Annotated[tuple[Number, ...], AfterValidator(_one_to_three)]
    unit: Unit

    def place(self, limbs: Mapping[Side, Level]) -> Place:
        """What is measured and where, of somebody whose limbs end at these levels."""
        ends_at = limbs.get(self.side) if self.side else None
        return Place.on_limb(ends_at, self.dimension, self.side, self.level_mm, self.landmark)


class AddMeasurement(Command):
    """A session of readings. `confirmed` stores what was doubted, with the doubts."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "taken_on": "2026-03-02",
                "method": "tape",
                "taken_by": "Noor",
                "readings": [
                    {
                        "dimension": "residual_limb_girth",
                        "side": "left",
                        "level_mm": 60,
                        "values": [171.0, 171.5, 171.0],
                        "unit": "mm",
                    },
                    {"dimension": "height", "values": [124.2], "unit": "cm"},
                ],
            }
        }
    )

    taken_on: Day
    method: Method
    taken_by: Annotated[Text, StringConstraints(max_length=200)] = ""
    note: Text = ""
    readings: Annotated[tuple[AddReading, ...], AfterValidator(_at_least_one), Field(max_length=MOST_READINGS)]
    confirmed: bool = False


class CorrectReading(Command):
    """Strike a reading through, and with `values` put the right one beside it; without, it only counts no more."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {"reading": 7, "values": [181.0], "unit": "mm", "why": "The point was in the wrong place."}
        }
    )

    reading: Id
    values: Annotated[tuple[Number, ...], Field(max_length=MOST_REPEATS)] = ()
    unit: Unit | None = None
    why: Line
    confirmed: bool = False


class CorrectMeasurement(Command):
    """Put right when, how or by whom a session was taken; what is left out stays.

    Its readings are judged anew: `confirmed` stores what is then surprising.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"taken_on": "2026-02-27", "why": "Typed in a day late."}})

    taken_on: Day | None = None
    method: Method | None = None
    taken_by: Annotated[Text, StringConstraints(max_length=200)] | None = None
    why: Line
    confirmed: bool = False


class SessionBefore(View):
    """What was put right about a session, as it was before; null is what stayed."""

    taken_on: date | None = None
    method: Method | None = None
    taken_by: str | None = None


class SessionCorrection(View):
    """Who put right when, how or by whom a session was taken, when and why, and what it said before."""

    at: datetime
    by: str
    why: str
    before: SessionBefore

    @property
    def words(self) -> str:
        """As it goes on after the session: "the day was corrected from 1 March 2026 by Noor: typed in late"."""
        was = []
        if self.before.taken_on is not None:
            was.append(f"the day was corrected from {full_day(self.before.taken_on)}")
        if self.before.method is not None:
            was.append(f"how was corrected from {self.before.method.value.replace('_', ' ')}")
        if self.before.taken_by is not None:
            was.append(f"who measured was corrected from {self.before.taken_by or 'nobody named'}")
        return f"{', '.join(was)} by {self.by}: {self.why}"


class StruckView(View):
    """Who struck a reading through, when and why."""

    at: datetime
    by: str
    why: str


class ReadingView(View):
    """A reading: the median of its repeats and their range, in mm, or in kg for weight.

    `corrects` is the id of the struck reading that this one replaces.
    """

    id: int
    dimension: Dimension
    side: Side | None
    level_mm: float | None
    landmark: str
    value_mm: float | None = None
    value_kg: float | None = None
    spread_mm: float | None = None
    spread_kg: float | None = None
    repeats: list[float]
    doubts: list[str]
    struck: StruckView | None
    corrects: int | None

    @property
    def words(self) -> str:
        """What was measured and where: "left residual limb girth at 60 mm"."""
        return Place(self.dimension, self.side, self.level_mm, self.landmark).words

    @property
    def size(self) -> str:
        """The value with its unit: "178.0 mm"."""
        value = self.value_kg if self.value_mm is None else self.value_mm
        return f"{value:.1f} {CATALOGUE[self.dimension].unit}"


class MeasurementView(View):
    """A session and all its readings, struck ones too, in the order they were given; `corrections` oldest first."""

    id: int
    taken_on: date
    method: Method
    taken_by: str
    note: str
    recorded_by: str
    recorded_at: datetime
    corrections: list[SessionCorrection]
    readings: list[ReadingView]


class RecordedMeasurement(MeasurementView):
    """A session just recorded; `warnings` are sentences for whoever recorded it."""

    warnings: list[str]


class StandingReading(View):
    """A reading that counts, in mm or kg; `doubted` says that somebody confirmed something surprising."""

    recipient: int
    id: int
    on: date
    method: Method
    dimension: Dimension
    side: Side | None
    level_mm: float | None
    landmark: str
    value: float
    doubted: bool

    @property
    def place(self) -> Place:
        """What was measured and where."""
        return Place(self.dimension, self.side, self.level_mm, self.landmark)

    @property
    def known(self) -> Known:
        """The reading as others are judged against it."""
        return Known(self.on, self.place, self.value, self.method)

    @property
    def size(self) -> str:
        """The value with its unit: "178.0 mm"."""
        return f"{self.value:.1f} {CATALOGUE[self.dimension].unit}"
