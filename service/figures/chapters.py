"""A sheet as it is read: its chapters, what each asks, of whom, and a drawing beside each figure. Pure.

The page and the paper are both made from these, so they say the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from service.figures import drawing, reading
from service.figures.definitions import Definition
from service.figures.drawing import Plot, Run, Scale, Smear
from service.figures.grouping import by_key, labelled
from service.figures.reading import upper
from service.figures.sheets import CurveView, FigureView, PointView, RunView, SectionView, SheetView, TableView

IN_ONE: Final = 3
"""No more curves than this in one drawing: their bands lie on each other."""
CURVE_CELLS: Final = "so many in 100, the interval, and how many are still followed"
"""What stands in each cell of a curve's table."""


@dataclass(frozen=True)
class Row:
    """A figure as a row: of whom, what is told, how surely, what it rests on, and its smear (None: nothing is told).

    `of` is the label in full. `apart` says that it differs from all others by more than chance would.
    """

    label: str
    of: str
    said: str
    interval: str
    rests: str
    why: str
    smear: Smear | None
    apart: bool


@dataclass(frozen=True)
class Group:
    """Rows that part the same things; without a title they are about everybody, or each on its own."""

    title: str
    rows: tuple[Row, ...]

    @property
    def told(self) -> bool:
        """Whether anything of it is told."""
        return any(row.smear is not None for row in self.rows)

    @property
    def whys(self) -> tuple[str, ...]:
        """Why something in it is not told, each said once."""
        return tuple(dict.fromkeys(row.why for row in self.rows if row.why))


@dataclass(frozen=True)
class Question:
    """All that is told of one kind of figure, on one ruler."""

    key: str
    means: Definition
    scale: Scale
    groups: tuple[Group, ...]

    @property
    def compared(self) -> bool:
        """Whether any of it could be told at all."""
        return any(group.told for group in self.groups)

    @property
    def apart(self) -> Group:
        """The rows that differ from all others, in the order they stand in."""
        rows = [row for group in self.groups for row in group.rows if row.apart]
        return Group("Apart from all others", tuple(replace(row, label=row.of) for row in rows))


@dataclass(frozen=True)
class Grid:
    """A table as it is read: names of its columns, and rows of a label and what each cell says."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Drawn:
    """Some curves in one drawing, what it shows in sentences, the same in numbers, and which curves are not told."""

    key: str
    title: str
    means: Definition
    plot: Plot
    says: str
    grid: Grid
    untold: tuple[str, ...]


@dataclass(frozen=True)
class Curves:
    """All drawings of one kind of curve: of everybody, and of groups by the group's title."""

    key: str
    means: Definition
    everybody: tuple[Drawn, ...]
    groups: tuple[tuple[str, tuple[Drawn, ...]], ...]

    @property
    def untold(self) -> tuple[str, ...]:
        """The groups of which no curve is told."""
        return tuple(title for title, of in self.groups if not any(each.plot.lines for each in of))


@dataclass(frozen=True)
class Ratio:
    """A comparison: its verdict, the numbers behind it, and its smear."""

    key: str
    means: Definition
    verdict: str
    said: str
    p: str
    smear: Smear | None


@dataclass(frozen=True)
class Ran:
    """A run chart, what it shows in sentences, and the same in numbers."""

    view: RunView
    means: Definition
    drawn: Run
    says: str
    grid: Grid


@dataclass(frozen=True)
class Chapter:
    """A section as it is read.

    `tables` are those that no earlier chapter shows; of the others `elsewhere` has the title, and where it stands.
    """

    section: SectionView
    questions: tuple[Question, ...]
    curves: tuple[Curves, ...]
    ratios: tuple[Ratio, ...]
    ratio_scale: Scale
    runs: tuple[Ran, ...]
    tables: tuple[Grid, ...]
    elsewhere: tuple[tuple[str, SectionView], ...]


def chapters(sheet: SheetView) -> list[Chapter]:
    """The chapters of a sheet, in its order."""
    shown: dict[tuple[str, str], SectionView] = {}
    found = []
    for section in sheet.sections:
        found.append(_chapter(section, shown, sheet.threshold))
        shown = {(each.population, each.name): section for each in section.tables} | shown
    return found


def questions(sheet: SheetView, key: str) -> list[Question]:
    """All that a sheet tells of one kind of figure."""
    return [each for chapter in chapters(sheet) for each in chapter.questions if each.key == key]


def _chapter(section: SectionView, shown: Mapping[tuple[str, str], SectionView], threshold: int) -> Chapter:
    told = [(each.value, each.low, each.high) for each in section.comparisons]
    scale = drawing.scale_of(reading.RATIO, told)
    before = [(each, shown.get((each.population, each.name))) for each in section.tables]
    return Chapter(
        section=section,
        questions=tuple(_question(key, of, section) for key, of in by_key(section.figures).items()),
        curves=tuple(_curves(key, of, section) for key, of in by_key(section.curves).items()),
        ratios=tuple(
            Ratio(
                each.key,
                reading.definition(each.key),
                each.verdict,
                reading.comparison_said(each),
                each.p,
                drawing.smear(scale, each.value, each.low, each.high),
            )
            for each in section.comparisons
        ),
        ratio_scale=scale,
        runs=tuple(_ran(each) for each in section.runs),
        tables=tuple(_grid(each, threshold) for each, there in before if there is None),
        elsewhere=tuple((each.title, there) for each, there in before if there is not None),
    )


def _question(key: str, figures: list[FigureView], section: SectionView) -> Question:
    scale = drawing.scale_of(figures[0].unit, [(each.value, each.low, each.high) for each in figures])
    groups = labelled(figures, section.tables)
    return Question(
        key,
        reading.definition(key),
        scale,
        tuple(Group(title, tuple(_row(scale, label, each) for label, each in of)) for title, of in groups),
    )


def _row(scale: Scale, label: str, figure: FigureView) -> Row:
    low, high = figure.low or 0.0, figure.high or 0.0
    return Row(
        label=label,
        of=upper(figure.of),
        said=reading.say(figure.value, figure.unit),
        interval=reading.interval(figure),
        rests=reading.rests(figure),
        why=figure.why,
        smear=drawing.smear(scale, figure.value, figure.low, figure.high),
        apart=figure.unit == reading.DIFFERENCE and (low > 0 or high < 0),
    )


def _grid(table: TableView, threshold: int) -> Grid:
    rows = [(each.label, (*each.cells, each.total)) for each in table.rows]
    rows.append(("All", (*table.totals, table.total)))
    return Grid(
        table.title,
        tuple(upper(each) for each in (*table.columns, "all")),
        tuple((upper(label), tuple(reading.cell_said(cell, threshold) for cell in cells)) for label, cells in rows),
    )


def _curves(key: str, curves: list[CurveView], section: SectionView) -> Curves:
    """The drawings of one kind of curve, all as long as the longest."""
    means = reading.definition(key)
    last = max((point.at for each in curves for point in each.points), default=1)
    groups = [(title, tuple(_drawn(key, title, of, last, means))) for title, of in labelled(curves, section.tables)]
    everybody = tuple(each for title, of in groups if not title for each in of)
    return Curves(key, means, everybody, tuple((title, of) for title, of in groups if title))


def _drawn(key: str, title: str, of: list[tuple[str, CurveView]], last: int, means: Definition) -> Iterator[Drawn]:
    told = [(label, each) for label, each in of if any(point.value is not None for point in each.points)]
    untold = tuple(label for label, each in of if all(point.value is None for point in each.points))
    parts = _parts(told)
    for place, part in enumerate(parts):
        called = title or of[0][0]
        called = called if len(parts) == 1 else f"{called}, drawing {place + 1} of {len(parts)}"
        yield Drawn(
            key=key,
            title=called,
            means=means,
            plot=drawing.plot(part, last),
            says=" ".join(_curve_says(label, each) for label, each in part),
            grid=_curve_grid(called, part),
            untold=untold if place == len(parts) - 1 else (),
        )


def _parts(curves: list[tuple[str, CurveView]]) -> list[list[tuple[str, CurveView]]]:
    """Curves shared out among as few drawings as hold them, as evenly as can be; one that is empty for none."""
    count = max(1, -(-len(curves) // IN_ONE))
    return [curves[len(curves) * i // count : len(curves) * (i + 1) // count] for i in range(count)]


def _curve_says(label: str, curve: CurveView) -> str:
    """A curve in a sentence: where it ends, and how surely that is known."""
    end = [each for each in curve.points if each.value is not None][-1]
    beside = reading.between(end.low, end.high, reading.SHARE) or reading.NO_INTERVAL
    return f"{label}: at {end.at} {curve.unit}, {reading.say(end.value, reading.SHARE)} ({beside})."


def _curve_grid(title: str, curves: list[tuple[str, CurveView]]) -> Grid:
    points: list[dict[int, PointView]] = [{point.at: point for point in each.points} for _, each in curves]
    every = sorted({at for of in points for at in of})
    rows = tuple((str(at), tuple(reading.point_said(of.get(at)) for of in points)) for at in every)
    return Grid(f"{title}: {CURVE_CELLS}", tuple(reading.curve_said(label, each) for label, each in curves), rows)


def _ran(view: RunView) -> Ran:
    rows = tuple(
        (name, (reading.say(value, view.unit),)) for name, value in zip(view.quarters, view.values, strict=True)
    )
    grid = Grid(view.title, (view.title,), rows)
    return Ran(view, reading.definition(view.key), drawing.run(view), _run_says(view), grid)


def _run_says(view: RunView) -> str:
    """A run chart in sentences: the first and the last quarter told, the mean and the limits."""
    told = [(name, value) for name, value in zip(view.quarters, view.values, strict=True) if value is not None]
    if not told:
        return "Nothing is told of any quarter."
    (first, began), (last, ended) = told[0], told[-1]
    said = f"{upper(reading.say(began, view.unit))} in {first}, {reading.say(ended, view.unit)} in {last}."
    if view.mean is None:
        return said
    limits = reading.between(view.low, view.high, view.unit)
    return f"{said} The mean is {reading.say(view.mean, view.unit)}; usual is {limits}."
