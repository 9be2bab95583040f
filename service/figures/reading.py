"""How a figure is read: the one place where its value becomes words, for the page, the paper and the files. Pure.

What is told coarsely is not said finely: shares are whole numbers in 100, the rest has three digits. Nothing here turns
what is hidden into a number, nor a number without an interval into a sure one.
"""

from __future__ import annotations

from typing import Final

from service.disclosure import Hidden
from service.figures.definitions import DEFINITIONS, Definition
from service.figures.sheets import CellView, ComparisonView, CurveView, FigureView, PointView, SheetView
from service.kit.days import full_day

SHARE: Final = "share"
DIFFERENCE: Final = "difference of shares"
RATIO: Final = "ratio"
COUNTS: Final = frozenset({"people", "requests"})
GOAL_POINTS: Final = "T points"
BARE: Final = frozenset({"money", GOAL_POINTS})
"""Units that stand in the heading alone, as rates do: the first has no name, the second is no quantity of anything."""

EVERYBODY: Final = "everybody"
A_YEAR: Final = 12
"""From so many months on a device is worn for long enough to be called a help."""

CANNOT: Final = "cannot be told"
NO_INTERVAL: Final = "how surely is not known"


def upper(text: str) -> str:
    """A text with a capital at its beginning."""
    return text[:1].upper() + text[1:]


def number(value: float) -> str:
    """A number as it is read: whole from a hundred on, below that the three digits that mean something."""
    if 0 < abs(value) < 0.001:
        return "under 0.001"
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def in_100(share: float) -> str:
    """A share (0-1) as so many in 100; what is not all or nothing is not called so."""
    if 0 < share < 0.005:
        return "under 1"
    return "over 99" if 0.995 <= share < 1 else f"{100 * share:.0f}"


def bare(value: float, unit: str) -> str:
    """A value without its unit, as it stands in an interval or on a ruler."""
    if unit == SHARE:
        return in_100(value)
    if unit != DIFFERENCE:
        return number(value)
    return "the same" if value == 0 else f"{in_100(abs(value))} {'fewer' if value < 0 else 'more'}"


def say(value: float | None, unit: str) -> str:
    """A value with its unit, such as `85 in 100`, `3 in 100 fewer` or `6 weeks`; or that it cannot be told."""
    if value is None:
        return CANNOT
    said = bare(value, unit)
    if unit == SHARE:
        return f"{said} in 100"
    if unit == DIFFERENCE:
        return said if value == 0 else f"{in_100(abs(value))} in 100 {'fewer' if value < 0 else 'more'}"
    if unit == RATIO:
        return f"{said} times"
    return said if unit in BARE or "per " in unit else f"{said} {unit}"


def between(low: float | None, high: float | None, unit: str) -> str:
    """An interval: `78 to 91`; open to one side: `6 or more`; empty where there is none, or it says nothing."""
    if low is None and high is None:
        return ""
    if high is None or low is None:
        end, open_to = (low, "or more") if high is None else (high, "or less")
        return f"{bare(end or 0.0, unit)} {open_to}"
    first, last = bare(low, unit), bare(high, unit)
    if unit == SHARE and (first, last) == ("0", "100"):
        return ""
    return first if first == last else f"{first} to {last}"


def interval(figure: FigureView) -> str:
    """What stands beside a value: its interval, or that none is known; empty where nothing is told at all."""
    said = between(figure.low, figure.high, figure.unit)
    return said or (NO_INTERVAL if figure.value is not None else "")


def rests(figure: FigureView) -> str:
    """What a figure rests on, where that is another number and is told: `of about 270`."""
    if figure.n is None or figure.unit in COUNTS:
        return ""
    word = "of" if figure.unit in {SHARE, DIFFERENCE} else "from"
    return f"{word} none" if figure.n == 0 else f"{word} about {figure.n:,}"


def cell_said(cell: CellView, threshold: int) -> str:
    """What is written in a cell of a table; hidden ones say why in words."""
    if cell.hidden is Hidden.SMALL:
        return f"fewer than {threshold}"
    return "withheld" if cell.value is None else f"{cell.value:,}"


def comparison_said(comparison: ComparisonView) -> str:
    """The numbers behind a verdict: `1.8 times (1.2 to 2.6)`."""
    said = say(comparison.value, RATIO)
    beside = between(comparison.low, comparison.high, RATIO)
    return f"{said} ({beside})" if beside else said


def curve_said(label: str, curve: CurveView) -> str:
    """The head of a curve's column: of whom, and how many they are."""
    return label if curve.n is None else f"{label}, about {curve.n:,}"


def point_said(point: PointView | None) -> str:
    """A point of a curve as in a table: how many in 100, the interval, and how many at least are still followed."""
    if point is None or point.value is None:
        return CANNOT
    beside = between(point.low, point.high, SHARE) or NO_INTERVAL
    return f"{in_100(point.value)} ({beside}); {'not told' if point.n is None else f'{point.n:,} or more'}"


def definition(key: str) -> Definition:
    """What a figure means; of one that is not worked out any more, but stands in an old report, that it is not."""
    gone = "This figure is not worked out any more; it stands in a report of earlier years."
    return DEFINITIONS.get(key) or Definition(key, "", gone, "not on record", "not on record", "not on record")


def answer(sheet: SheetView) -> str:
    """The first line of all: whether devices are still worn, as surely as it is known.

    Where the count of those worn now is hidden, the curve may still tell how many are worn after a year or later.
    """
    sections = {each.key: each for each in sheet.sections}
    wear = sections.get("wear")
    if wear is None:
        return sections["people"].lead if "people" in sections else "Nothing is told yet."
    now = next((each for each in wear.figures if (each.key, each.of) == ("wear.now", EVERYBODY)), None)
    known = [
        (point, say(point.value, SHARE), between(point.low, point.high, SHARE))
        for curve in wear.curves
        if curve.of == EVERYBODY
        for point in curve.points
        if point.value is not None and point.at >= A_YEAR
    ]
    if (now is not None and now.value is not None) or not known:
        return wear.lead
    point, said, beside = known[0]
    return (
        f"About {said} devices are still worn {point.at} months after they were first worn "
        f"({beside or NO_INTERVAL}); how many are worn now cannot be told."
    )


def told_by(sheet: SheetView) -> str:
    """Up to when things were counted, when, and by which rule they are told."""
    return (
        f"Worked out on {full_day(sheet.computed_at.date())}, of what was on record up to {full_day(sheet.as_of)}. "
        f"Counts under {sheet.threshold} are hidden, and others rounded to the nearest {sheet.base}, so that nobody "
        "can be picked out."
    )
