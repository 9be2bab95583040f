"""Geometry of what trustees see: rulers with smears, curves in steps, run charts. Percentages of width and height.

A template draws at any size from these, in a page or on paper. Heights grow downwards. Pure: it knows no words but the
labels of axes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, isclose, log, log10
from typing import Final

from service.figures.reading import DIFFERENCE, GOAL_POINTS, RATIO, SHARE, bare, in_100
from service.figures.sheets import CurveView, PointView, RunView

NICE: Final = (1.0, 2.0, 2.5, 5.0, 10.0)
FOLDS: Final = (2.0, 4.0, 8.0, 16.0)
BEYOND: Final = 60.0
"""So many % past its end what is off the ruler may reach: it is cut there, and its smear does not flatten."""
FAR: Final = 4.0
"""An interval that reaches over so many times the largest value runs off the ruler, or the values would not be seen."""
THIN: Final = 0.8
"""The least width, in %, of either half of a smear: what is known to the digit is still seen."""
LABELS_APART: Final = 9.0
"""Labels at the lines of a chart are so many % of its height apart, or more."""
QUARTERS: Final = (0.0, 25.0, 50.0, 75.0, 100.0)
GOALS: Final = (20.0, 80.0)
"""The ends of the ruler of goal attainment: three standard deviations about 50, which is all as hoped."""
AIR: Final = 1.05
"""Run charts end so many times higher than the highest of what they hold."""
STYLES: Final = 4
"""So many styles of lines there are; no chart has more lines."""

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on a scale, `at` in %; an empty label is a bare one, only `sparse` labels have room on a phone."""

    at: float
    label: str
    sparse: bool = True


@dataclass(frozen=True, slots=True)
class Scale:
    """A ruler from `low` to `high`; of ratios it goes by their logarithm. `origin` is where there is no difference."""

    unit: str
    low: float
    high: float
    ticks: tuple[Tick, ...]
    origin: float | None = None

    def at(self, value: float) -> float:
        """Where a value lies, in %; off the ruler not farther than `BEYOND`."""
        if self.unit == RATIO:
            share = log(max(value, 1e-9) / self.low) / log(self.high / self.low)
        else:
            share = (value - self.low) / (self.high - self.low)
        return round(min(max(100 * share, -BEYOND), 100 + BEYOND), 2)


@dataclass(frozen=True, slots=True)
class Smear:
    """An interval on a ruler: it darkens from `start` to `dark`, is even up to `light`, and fades to `end` (all in %).

    `notch` marks the value. Without one the smear is even: any place in it is as good as another.
    """

    start: float
    dark: float
    light: float
    end: float
    notch: float | None


def scale_of(unit: str, told: Iterable[tuple[float | None, float | None, float | None]]) -> Scale:
    """The ruler that holds some (value, low, high) of a unit."""
    known = [(value, low, high) for value, low, high in told]
    every = [each for three in known for each in three if each is not None]
    if unit == SHARE:
        return Scale(SHARE, 0.0, 1.0, tuple(Tick(at, f"{at:g}", at % 50 == 0) for at in QUARTERS))
    if unit == GOAL_POINTS:
        return Scale(unit, *GOALS, tuple(Tick(at, f"{GOALS[0] + 0.6 * at:g}", at % 50 == 0) for at in QUARTERS), 50.0)
    if unit == DIFFERENCE:
        end = min(1.0, max(0.1, _nice(max((abs(each) for each in every), default=0.1))))
        return Scale(unit, -end, end, _three(f"\u2212{in_100(end)}", "0", f"+{in_100(end)}"), 50.0)
    if unit == RATIO:
        fold = max((max(each, 1 / each) for each in every if each > 0), default=2.0)
        end = next((each for each in FOLDS if each >= fold), FOLDS[-1])
        return Scale(unit, 1 / end, end, _three(f"1/{end:g}", "1", f"{end:g}"), 50.0)
    values = [value for value, _, _ in known if value is not None]
    reach = max(every, default=1.0)
    end = _nice(min(reach, FAR * max(values)) if values and max(values) > 0 else reach)
    return Scale(unit, 0.0, end, _three("0", bare(end / 2, unit), bare(end, unit)))


def smear(scale: Scale, value: float | None, low: float | None, high: float | None) -> Smear | None:
    """The smear of an interval, None where nothing is told.

    A side without an end runs off the ruler; a value without an interval is a notch alone.
    """
    if value is None and low is None and high is None:
        return None
    if value is not None and low is None and high is None:
        at = scale.at(value)
        return Smear(at, at, at, at, at)
    start = scale.at(low) if low is not None else -BEYOND
    end = scale.at(high) if high is not None else 100 + BEYOND
    if value is None:
        return Smear(start, start, end, end, None)
    at = scale.at(value)
    return Smear(round(min(start, at - THIN), 2), at, at, round(max(end, at + THIN), 2), at)


@dataclass(frozen=True, slots=True)
class Line:
    """A curve in steps: `pieces` of its line and `bands` of its interval are corners in %; `label` stands at `at`."""

    label: str
    style: int
    pieces: tuple[tuple[Place, ...], ...]
    bands: tuple[tuple[Place, ...], ...]
    at: Place

    def path(self, across: float = 1.0, down: float = 1.0) -> str:
        """The line as the data of an SVG path, in a box so many times 100 wide and high."""
        return "".join(corners(each, across, down) for each in self.pieces)

    def band(self, across: float = 1.0, down: float = 1.0) -> str:
        """The band as the data of an SVG path."""
        return "".join(corners(each, across, down, closed=True) for each in self.bands)


@dataclass(frozen=True, slots=True)
class Plot:
    """Some curves on one pair of axes; `unit` is that of the ticks along."""

    unit: str
    lines: tuple[Line, ...]
    along: tuple[Tick, ...]
    up: tuple[Tick, ...]


def plot(curves: Sequence[tuple[str, CurveView]], last: int) -> Plot:
    """Curves with their labels, from 0 to `last` along. Raises ValueError for more of them than there are styles."""
    if len(curves) > STYLES:
        raise ValueError(f"no more than {STYLES} curves can be told apart in one drawing")
    drawn = [(label, curve, _pieces(curve.points)) for label, curve in curves]
    drawn = [each for each in drawn if each[2]]
    ends = [_end(points[-1], last) for _, _, points in drawn]
    heights = _apart([y for _, y in ends])
    lines = tuple(
        Line(
            label,
            style,
            tuple(_steps([(_x(each.at, last), _y(each.value or 0.0)) for each in piece]) for piece in pieces),
            tuple(_band(piece, last) for piece in pieces),
            (end[0], height),
        )
        for style, ((label, _, pieces), end, height) in enumerate(zip(drawn, ends, heights, strict=True))
    )
    unit = curves[0][1].unit if curves else ""
    return Plot(unit, lines, _along(last, unit), tuple(Tick(100.0 - at, f"{at:g}") for at in QUARTERS))


@dataclass(frozen=True, slots=True)
class Run:
    """A run chart: `points` in order with gaps where nothing is told, and its mean and limits (None: too short)."""

    points: tuple[Place, ...]
    pieces: tuple[tuple[Place, ...], ...]
    mean: float | None
    low: float | None
    high: float | None
    along: tuple[Tick, ...]
    up: tuple[Tick, ...]

    def path(self, across: float = 1.0, down: float = 1.0) -> str:
        """The line from point to point as the data of an SVG path."""
        return "".join(corners(each, across, down) for each in self.pieces)


def run(view: RunView) -> Run:
    """The drawing of a run chart; its axis holds the limits too, as far as a share or a count can reach."""
    known = [each for each in (*view.values, view.mean, view.high) if each is not None]
    top = 1.0 if view.unit == SHARE else _nice(AIR * max(known, default=1.0))

    def y(value: float) -> float:
        return round(100 * (1 - min(max(value / top, 0.0), 1.0)), 2)

    count = max(len(view.quarters), 1)
    places = [
        None if value is None else (round(100 * (index + 0.5) / count, 2), y(value))
        for index, value in enumerate(view.values)
    ]
    return Run(
        points=tuple(place for place in places if place is not None),
        pieces=tuple(tuple(piece) for piece in _unbroken(places)),
        mean=None if view.mean is None else y(view.mean),
        low=None if view.low is None else y(view.low),
        high=None if view.high is None else y(view.high),
        along=tuple(
            Tick(round(100 * (index + 0.5) / count, 2), name[:4] if name.endswith("Q1") else "")
            for index, name in enumerate(view.quarters)
        ),
        up=tuple(Tick(y(value), bare(value, view.unit)) for value in (0.0, top / 4, top / 2, 3 * top / 4, top)),
    )


def corners(places: Sequence[Place], across: float = 1.0, down: float = 1.0, *, closed: bool = False) -> str:
    """The data of an SVG path through some places, stretched from % to whatever a box has."""
    said = "L".join(f"{round(x * across, 2):g} {round(y * down, 2):g}" for x, y in places)
    return f"M{said}{'Z' if closed else ''}" if places else ""


def _three(first: str, middle: str, last: str) -> tuple[Tick, ...]:
    return (Tick(0.0, first), Tick(50.0, middle, sparse=False), Tick(100.0, last))


def _nice(value: float) -> float:
    """The round number that is not below a value."""
    if value <= 0:
        return 1.0
    size = 10.0 ** floor(log10(value))
    return next(size * each for each in NICE if size * each >= value or isclose(size * each, value))


def _x(at: float, last: int) -> float:
    return round(100 * at / max(last, 1), 2)


def _y(share: float) -> float:
    return round(100 * (1 - share), 2)


def _unbroken(places: Sequence[Place | None]) -> Iterator[list[Place]]:
    """The stretches without a gap."""
    piece: list[Place] = []
    for place in (*places, None):
        if place is not None:
            piece.append(place)
        elif piece:
            yield piece
            piece = []


def _pieces(points: Sequence[PointView]) -> list[list[PointView]]:
    """The stretches of a curve that are told; the first begins where nothing has ended yet."""
    pieces: list[list[PointView]] = [[]]
    for point in points:
        if point.value is None:
            pieces.append([])
        else:
            pieces[-1].append(point)
    if pieces[0] and pieces[0][0].at > 0:
        pieces[0].insert(0, PointView(at=0, value=1.0, low=1.0, high=1.0, n=pieces[0][0].n))
    return [each for each in pieces if each]


def _steps(places: Sequence[Place]) -> tuple[Place, ...]:
    """A line that stays until the next place, and falls there."""
    corners_of = [places[0]]
    for (_, before), (x, after) in pairwise(places):
        corners_of += [(x, before), (x, after)] if after != before else [(x, after)]
    return tuple(corners_of)


def _end(piece: Sequence[PointView], last: int) -> Place:
    """Where a line ends, above its last step down: a label there crosses no line of its own."""
    above = piece[-2] if len(piece) > 1 else piece[-1]
    return _x(piece[-1].at, last), _y(above.value or 0.0)


def _band(piece: Sequence[PointView], last: int) -> tuple[Place, ...]:
    """What lies between the ends of the intervals, all around; empty where there are none."""
    told = [each for each in piece if each.low is not None and each.high is not None]
    if len(told) < 2:
        return ()
    upper = _steps([(_x(each.at, last), _y(each.high or 0.0)) for each in told])
    lower = _steps([(_x(each.at, last), _y(each.low or 0.0)) for each in told])
    return (*upper, *reversed(lower))


def _apart(heights: Sequence[float]) -> list[float]:
    """Heights for labels near some others, but not on top of each other, and within the drawing."""
    order = sorted(range(len(heights)), key=lambda index: (heights[index], index))
    found = list(heights)
    lowest = -LABELS_APART
    for index in order:
        found[index] = max(found[index], lowest + LABELS_APART)
        lowest = found[index]
    highest = 100.0 + LABELS_APART
    for index in reversed(order):
        found[index] = round(min(found[index], highest - LABELS_APART), 2)
        highest = found[index]
    return found


def _along(last: int, unit: str) -> tuple[Tick, ...]:
    """Five or six marks at most, at whole years or quarters where the unit is months."""
    sizes = (1, 2, 3, 6, 12, 24, 36) if unit == "months" else (1, 2, 4, 13, 26, 52)
    step = next((each for each in sizes if last / each <= 6), max(1, ceil(last / 6)))
    return tuple(Tick(_x(at, last), str(at)) for at in range(0, last + 1, step))
