"""Geometry of the drawings: dates and millimetres in, percentages of the drawing's width and height out.

Percentages let a macro draw at any width with the type at its true size, without script. Pure: today is
passed in. The one picture that returns is the ruler: ``ruler`` is also the time axis of ``growth_chart``.
"""

from calendar import month_abbr
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, cos, floor, log10, pi
from typing import Final, Literal, Protocol

from service.web.words import Due

HORIZON: Final = timedelta(days=3 * 365.25)
"""How far a forecast looks; a quantile beyond it is None, not a date."""
BEYOND: Final = timedelta(days=365)
"""Where an unseen quantile is put past the horizon, so that its smear runs off the ruler's end."""
SHORTEST_SMEAR: Final = timedelta(days=14)
"""A smear narrower than this could not be seen, and no forecast is surer."""
SMEAR_STOPS: Final = 9


@dataclass(frozen=True, slots=True)
class Mark:
    """A tick of the ruler, ``at`` in % of the width.

    ``label`` is empty for a bare tick; only labels marked ``sparse`` have room on a phone.
    """

    at: float
    rank: Literal["year", "quarter", "month"]
    label: str
    sparse: bool


@dataclass(frozen=True, slots=True)
class Smear:
    """Where a date probably lies. ``stops`` are (% of the smear's own width, darkness 0-1)."""

    start: float
    width: float
    stops: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Ruler:
    """A stretch of time. All positions in % of its width; None where there is nothing to draw."""

    start: date
    end: date
    marks: tuple[Mark, ...]
    today: float | None
    smear: Smear | None
    start_by: float | None
    late: bool


class CurvePoint(Protocol):
    """One month of a forecast curve, in the unit of the chart."""

    @property
    def on(self) -> date:
        """The day it is foreseen for."""

    @property
    def p10(self) -> float:
        """The size that 1 in 10 stays below."""

    @property
    def p50(self) -> float:
        """The size that half stay below."""

    @property
    def p90(self) -> float:
        """The size that 9 in 10 stay below."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured size, or one worked out from the socks worn; ``error`` is its standard deviation."""

    on: date
    value: float
    error: float
    source: Literal["measured", "socks"] = "measured"
    state: Literal["kept", "doubted", "corrected"] = "kept"


@dataclass(frozen=True, slots=True)
class Point:
    """A reading in the drawing: ``x``, ``y`` and the ends of its error bar in %, y downwards."""

    x: float
    y: float
    top: float
    bottom: float
    reading: Reading


@dataclass(frozen=True, slots=True)
class GrowthChart:
    """Everything the chart macro draws. Paths are in a box of 100 x 100; ``levels`` are (y in %, value)."""

    ruler: Ruler
    levels: tuple[tuple[float, str], ...]
    points: tuple[Point, ...]
    fan: str
    median: str
    curve: tuple[CurvePoint, ...]
    tight: float | None
    tight_at: float | None


def add_months(on: date, months: int) -> date:
    """Return the first day of the month that lies ``months`` (may be negative) from the month of ``on``."""
    year, month = divmod(on.year * 12 + on.month - 1 + months, 12)
    return date(year, month + 1, 1)


def ruler(
    today: date,
    due: Due | None = None,
    start_by: date | None = None,
    *,
    start: date | None = None,
    end: date | None = None,
) -> Ruler:
    """Return the ruler from ``start`` to ``end``: by default from a month ago to eighteen months ahead.

    A ``start_by`` before the ruler begins is drawn at its beginning, one after its end not at all.
    """
    start = start or today - timedelta(days=30)
    end = end or today + timedelta(days=548)
    return Ruler(
        start=start,
        end=end,
        marks=_marks(start, end),
        today=_across(today, start, end) if start <= today <= end else None,
        smear=_smear(due, today, start, end) if due else None,
        start_by=_across(max(start_by, start), start, end) if start_by and start_by <= end else None,
        late=start_by is not None and start_by < today,
    )


def growth_chart(
    readings: Iterable[Reading],
    today: date,
    *,
    curve: Sequence[CurvePoint] = (),
    tight_at: float | None = None,
    due: Due | None = None,
    start_by: date | None = None,
) -> GrowthChart:
    """Return the chart of one dimension at one level: what was measured, what is expected, where it is tight.

    It reaches from the first reading to eighteen months ahead, or past the 90 % point of ``due`` if later.
    """
    readings = sorted(readings, key=lambda r: r.on)
    start = min([r.on for r in readings] + [today]) - timedelta(days=45)
    end = max([today + timedelta(days=548)] + [q + timedelta(days=45) for q in (due and due.p90,) if q])
    shown = tuple(c for c in curve if start <= c.on <= end)
    sizes = [v for r in readings for v in (r.value - r.error, r.value + r.error)]
    sizes += [v for c in shown for v in (c.p10, c.p90)] + ([tight_at] if tight_at is not None else [])
    bottom, top = _limits(sizes)

    def x(on: date) -> float:
        return _across(on, start, end)

    def y(value: float) -> float:
        return round(100 * (top - value) / (top - bottom), 2)

    upper = [(x(c.on), y(c.p90)) for c in shown]
    lower = [(x(c.on), y(c.p10)) for c in reversed(shown)]
    return GrowthChart(
        ruler=ruler(today, due, start_by, start=start, end=end),
        levels=tuple((y(level), f"{level:g}") for level in _levels(bottom, top)),
        points=tuple(Point(x(r.on), y(r.value), y(r.value + r.error), y(r.value - r.error), r) for r in readings),
        fan=_path(upper + lower) + "Z" if shown else "",
        median=_path([(x(c.on), y(c.p50)) for c in shown]),
        curve=shown,
        tight=y(tight_at) if tight_at is not None else None,
        tight_at=tight_at,
    )


def _across(on: date, start: date, end: date) -> float:
    return round(100 * (on - start).days / (end - start).days, 2)


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points) if points else ""


def _marks(start: date, end: date) -> tuple[Mark, ...]:
    """Return a tick for every month, quarter or half year, whichever there is room for."""
    months = (end.year - start.year) * 12 + end.month - start.month
    every = 1 if months <= 30 else 3 if months <= 72 else 6
    first = add_months(start, 1)
    ticks = (add_months(first, i) for i in range(months + 1))
    return tuple(_mark(on, start, end, months) for on in ticks if on < end and (on.month - 1) % every == 0)


def _mark(on: date, start: date, end: date, months: int) -> Mark:
    at = _across(on, start, end)
    if on.month == 1:
        return Mark(at, "year", str(on.year), sparse=months <= 72 or on.year % 2 == 0)
    if (on.month - 1) % 3 == 0:
        return Mark(at, "quarter", month_abbr[on.month] if months <= 30 else "", sparse=months <= 24)
    return Mark(at, "month", "", sparse=False)


def _smear(due: Due, today: date, start: date, end: date) -> Smear | None:
    """Return the visible part of the smear: darkest at the median, gone at the 10 % and 90 % points."""
    if due.p10 is None:
        return None
    unseen = today + HORIZON + BEYOND
    mid = due.p50 or unseen
    low = min(due.p10, mid - SHORTEST_SMEAR / 2)
    high = max(due.p90 or unseen + BEYOND, mid + SHORTEST_SMEAR / 2)
    first, last = max(low, start), min(high, end)
    if first >= last:
        return None

    def darkness(on: date) -> float:
        reach = (mid - low) if on <= mid else (high - mid)
        return round(cos(pi / 2 * min(1.0, abs(on - mid) / reach)) ** 2, 3)

    days = (last - first).days
    sampled = {first + timedelta(days=round(days * i / (SMEAR_STOPS - 1))) for i in range(SMEAR_STOPS)}
    if first <= mid <= last:
        sampled.add(mid)
    begins = _across(first, start, end)
    return Smear(
        start=begins,
        width=round(_across(last, start, end) - begins, 2),
        stops=tuple((_across(on, first, last), darkness(on)) for on in sorted(sampled)),
    )


def _limits(values: Sequence[float]) -> tuple[float, float]:
    """Return the ends of an axis that holds the values with a little air.

    It spans at least a twelfth of the size, or one reading's error would fill the page like a change.
    """
    low, high = (min(values), max(values)) if values else (0.0, 100.0)
    air = max(0.06 * (high - low), (high / 12 - (high - low)) / 2)
    return low - air, high + air


def _levels(bottom: float, top: float) -> list[float]:
    """Return the three to nine round values (1, 2 or 5 x 10^n apart) between the ends of an axis."""
    rough = (top - bottom) / 8
    size = 10.0 ** floor(log10(rough))
    step = next(size * m for m in (1, 2, 5, 10) if size * m >= rough)
    return [round(i * step, 6) for i in range(ceil(bottom / step), floor(top / step) + 1)]
