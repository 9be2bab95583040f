"""The stateless question and answer of a forecast: a case in, dates as a distribution out.

`handspan forecast` and `POST /api/v1/forecasts` take and give exactly this.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated, Self

from pydantic import AfterValidator, ConfigDict, Field, model_validator

from service.anthropometry import CATALOGUE, Dimension, Sex
from service.growth.model.case import Fit, Limb, Method, Side
from service.kit.schema import Command, Day, Line, View

OLDEST_YEARS = 120
EARLIEST, LATEST = date(1880, 1, 1), date(2200, 1, 1)


def _in_a_lifetime(day: date) -> date:
    if not EARLIEST <= day <= LATEST:
        raise ValueError(f"Write a date between {EARLIEST} and {LATEST}")
    return day


LifeDay = Annotated[Day, AfterValidator(_in_a_lifetime)]
Size = Annotated[float, Field(gt=0, strict=True)]
LevelMm = Annotated[float | None, Field(default=None, ge=0, le=1000, strict=True)]
Ply = Annotated[int, Field(ge=1, le=9, strict=True)]


def check_size(dimension: Dimension, value: float) -> None:
    """Raise ValueError, saying what to do, if no human body has this size (mm, or kg for weight)."""
    facts = CATALOGUE[dimension]
    if not facts.smallest <= value <= facts.largest:
        raise ValueError(
            f"A {facts.label} of {value:g} {facts.unit} is not possible: "
            f"give it in {facts.unit}, between {facts.smallest:g} and {facts.largest:g}"
        )


class ReadingIn(Command):
    """A size found on a day: `value_kg` for weight, `value_mm` for everything else."""

    on: LifeDay
    dimension: Dimension
    level_mm: LevelMm = None
    side: Side | None = None
    value_mm: Size | None = None
    value_kg: Size | None = None
    method: Method | None = None

    @model_validator(mode="after")
    def _one_possible_value(self) -> Self:
        wanted, other = ("value_kg", "value_mm") if CATALOGUE[self.dimension].unit == "kg" else ("value_mm", "value_kg")
        if getattr(self, wanted) is None or getattr(self, other) is not None:
            raise ValueError(f"Give the {CATALOGUE[self.dimension].label} as {wanted}, and no {other}")
        check_size(self.dimension, self.value)
        return self

    @property
    def value(self) -> float:
        """The size in the dimension's own unit."""
        size = self.value_mm if self.value_mm is not None else self.value_kg
        assert size is not None  # noqa: S101 - the validator above has seen to it
        return size


class LimitIn(Command):
    """The bare size at which the socket is tight there."""

    dimension: Dimension
    side: Side | None = None
    level_mm: LevelMm = None
    tight_at_mm: Size

    @model_validator(mode="after")
    def _is_a_limb_size(self) -> Self:
        if not CATALOGUE[self.dimension].needs_side:
            raise ValueError(f"A socket is not outgrown by {self.dimension}: give a dimension of the limb")
        check_size(self.dimension, self.tight_at_mm)
        return self


class DeviceIn(Command):
    """The socket in place: since when, and where it will be tight."""

    fitted_on: LifeDay | None = None
    limits: list[LimitIn] = Field(default=[], max_length=20)


class SockReportIn(Command):
    """The socks worn together (`plies`: [] is none), and how the socket felt with them."""

    on: LifeDay
    plies: list[Ply] = Field(max_length=8)
    fit: Fit


class ForecastCase(Command):
    """Everything a forecast may know about one socket in place.

    `limb` is the part of the arm that the residual limb is: "upper_arm" for one that ends at the elbow or above.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "case_id": "A-17",
                    "birth_date": "2016-04-02",
                    "sex": "female",
                    "as_of": "2026-03-12",
                    "readings": [
                        {"on": "2025-09-01", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 171.5},
                        {"on": "2026-03-02", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 174.0},
                        {"on": "2026-03-02", "dimension": "weight", "value_kg": 31.5, "method": "family"},
                    ],
                    "device": {
                        "fitted_on": "2025-09-01",
                        "limits": [{"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 181.0}],
                    },
                    "sock_reports": [{"on": "2026-03-01", "plies": [3], "fit": "snug"}],
                }
            ]
        }
    )

    case_id: Line
    birth_date: LifeDay
    sex: Sex
    as_of: LifeDay
    readings: list[ReadingIn] = Field(default=[], max_length=2000)
    device: DeviceIn | None = None
    sock_reports: list[SockReportIn] = Field(default=[], max_length=2000)
    limb: Limb = "forearm"

    @model_validator(mode="after")
    def _dates_follow_birth(self) -> Self:
        if self.as_of < self.birth_date:
            raise ValueError(f"as_of {self.as_of} is before the birth date {self.birth_date}: correct one of them")
        if self.as_of - self.birth_date > timedelta(days=366 * OLDEST_YEARS):
            raise ValueError(f"Nobody is older than {OLDEST_YEARS}: correct the birth date or as_of")
        days = [*(r.on for r in self.readings), *(s.on for s in self.sock_reports)]
        if self.device and self.device.fitted_on:
            days.append(self.device.fitted_on)
        early = [day for day in days if day < self.birth_date]
        if early:
            raise ValueError(f"{early[0]} is before the birth date {self.birth_date}: correct one of them")
        return self


class Due(View):
    """The dates by which the socket is outgrown with 10, 50 and 90 per cent probability.

    `as_of` itself means that it already is; null means not within three years of `as_of`.
    """

    p10: date | None
    p50: date | None
    p90: date | None


class Limiting(View):
    """The limit most often reached first, and in which share of the futures that reach one."""

    dimension: Dimension
    level_mm: float | None
    probability: float


class CurvePointOut(View):
    """The size (mm) on a day: the median and the middle 80 per cent."""

    on: date
    p10: float
    p50: float
    p90: float


class SockSizeOut(View):
    """The size (mm) at a place, and its standard deviation, that a sock report was taken for."""

    on: date
    dimension: Dimension
    level_mm: float | None
    size_mm: float
    sd_mm: float


class ForecastAnswer(View):
    """When the socket will be outgrown, as far as can be told.

    `already` is the probability that it is outgrown at `as_of`, `within` by so many days later. `curve` follows the
    limiting size month by month from the first reading to three years ahead; `from_socks` are the sock reports that
    counted. `warnings` are for people to read, and so is `explanation`: what was measured, how fast it grows and when
    it reaches the limit.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "case_id": "A-17",
                    "due": {"p10": "2026-09-05", "p50": "2027-02-11", "p90": "2028-01-20"},
                    "already": 0.01,
                    "within": {"30": 0.02, "90": 0.05, "180": 0.11, "365": 0.54},
                    "limiting": {"dimension": "residual_limb_girth", "level_mm": 60.0, "probability": 1.0},
                    "curve": [{"on": "2026-03-12", "p10": 172.5, "p50": 174.3, "p90": 176.1}],
                    "from_socks": [
                        {
                            "on": "2026-03-01",
                            "dimension": "residual_limb_girth",
                            "level_mm": 60.0,
                            "size_mm": 173.5,
                            "sd_mm": 3.5,
                        }
                    ],
                    "warnings": [],
                    "explanation": "Two readings and the socks worn say the residual limb girth grows about 8 mm a "
                    "year; it reaches the socket's 181 mm most likely around February 2027, between September 2026 and "
                    "January 2028.",
                    "model": "handspan-growth 1.2",
                }
            ]
        }
    )

    case_id: str
    due: Due
    already: float
    within: dict[str, float]
    limiting: Limiting | None
    curve: list[CurvePointOut]
    from_socks: list[SockSizeOut]
    warnings: list[str]
    explanation: str
    model: str
