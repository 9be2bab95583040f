"""What the model is asked and what it answers: frozen values, dates passed in, no clock."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from service.anthropometry import Dimension, Sex

Side = Literal["left", "right"]
Fit = Literal["loose", "snug", "tight"]
Limb = Literal["forearm", "upper_arm"]
Method = Literal["tape", "cast", "scan", "clinic_letter", "family"]


@dataclass(frozen=True, slots=True)
class Channel:
    """One thing that can be measured again and again: a dimension, on a side, at a level (mm from the landmark)."""

    dimension: Dimension
    side: Side | None = None
    level_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A size (mm or kg, as the dimension has it) found on a day."""

    on: date
    channel: Channel
    value: float
    method: Method | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """The bare size (mm) at which the socket is tight there."""

    channel: Channel
    tight_at_mm: float


@dataclass(frozen=True, slots=True)
class SockReport:
    """The socks worn together on a day, as ply labels, and how the socket felt with them."""

    on: date
    plies: tuple[int, ...]
    fit: Fit


@dataclass(frozen=True, slots=True)
class Case:
    """Everything the model may know about one socket in place.

    Without `limits` there is nothing to outgrow: the answer has no dates and says so. `limb` is the part of the arm
    that the residual limb is: the girth of one that ends at the elbow or above grows as an upper arm's.
    """

    birth_date: date
    sex: Sex
    as_of: date
    readings: tuple[Reading, ...] = ()
    fitted_on: date | None = None
    limits: tuple[Limit, ...] = ()
    sock_reports: tuple[SockReport, ...] = ()
    limb: Limb = "forearm"


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """What the limb measured, or will measure, on a day: a median and the middle 80 per cent (mm)."""

    on: date
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class SockSize:
    """The size (mm) of a limb at a place, and its standard deviation, that a sock report was taken for."""

    on: date
    channel: Channel
    size: float
    sd: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """When the first limit is reached.

    `due` holds the 10, 50 and 90 per cent quantiles of the date; `as_of` itself means *already*, None means *not
    within three years*. `within` maps days after `as_of` to the probability of being outgrown by then. `limiting` is
    the limit most often reached first, with how often among the futures in which any is reached. `curve` follows the
    limiting limb size from the first reading to three years ahead. `from_socks` are the sock reports that counted.
    """

    p10: date | None
    p50: date | None
    p90: date | None
    already: float
    within: dict[int, float]
    limiting: Limit | None
    limiting_probability: float
    curve: tuple[CurvePoint, ...]
    from_socks: tuple[SockSize, ...]
    warnings: tuple[str, ...]
