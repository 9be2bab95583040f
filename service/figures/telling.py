"""A sheet while it is being told: the facts, the populations as told, and how figures, tables and curves are said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple, TypeVar

from service.disclosure import Rule, Told, ToldPopulation
from service.disclosure.amounts import ToldAmount, tell_ends
from service.disclosure.figures import Figure
from service.figures.counting import Counted
from service.figures.definitions import DEFINITIONS
from service.figures.facts import Facts
from service.figures.sheets import CellView, CurveView, FigureView, RowView, TableView
from service.statistics.intervals import Estimate

T = TypeVar("T")

EVERYBODY = "everybody"

HIDDEN_WHY = "Too few to tell of without picking somebody out."
NOTHING_WHY = "Nothing has been counted yet."
ENDS_BEFORE = "What is told of it ends before half have."


class Ends(NamedTuple):
    """A value and the ends of its interval; None is not told, or there is none."""

    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Telling:
    """What a section is told from; `money` is what a device costs elsewhere, and where that is from.

    `facts` are of those who agreed to be counted, `everybody` of all: only safety is told of them.
    """

    facts: Facts
    everybody: Facts
    rule: Rule
    counted: Mapping[str, Counted]
    told: Mapping[str, ToldPopulation]
    money: tuple[float | None, str]

    @property
    def as_of(self) -> date:
        """The last day that is counted."""
        return self.facts.until

    def rows(self, population: str, table: str) -> tuple[str, ...]:
        """The rows of a table, in order."""
        return self.counted[population].cut(table).rows

    def parted(self, population: str, table: str, things: Iterable[T]) -> Iterator[tuple[str, list[T]]]:
        """Things by the row of a table that they are counted in, in the order of its rows, empty ones too."""
        cut = self.counted[population].cut(table)
        found: dict[str, list[T]] = {row: [] for row in cut.rows}
        for thing in things:
            found[cut.row_of(thing)].append(thing)
        yield from found.items()

    def figure(self, key: str, found: Figure, of: str = EVERYBODY) -> FigureView:
        """A figure as it is answered."""
        ends = Ends(found.value, found.low, found.high)
        return self._view(key, ends, found.n, of, found.method, hidden=found.suppressed is not None)

    def count(self, key: str, told: Told, of: str = EVERYBODY) -> FigureView:
        """A count as it is answered; its ends are those of what is told so."""
        window = self.rule.window(told)
        ends = Ends(told.value, window.low, window.high)
        return self._view(key, ends, told.value, of, "rounded count", hidden=told.hidden is not None)

    def amount(self, key: str, told: ToldAmount, of: str = EVERYBODY) -> FigureView:
        """A sum or a mean as it is answered; it has no interval but that of its rounding."""
        ends = Ends(told.value, None, None)
        return self._view(key, ends, told.things.value, of, "told coarsely", hidden=told.things.hidden is not None)

    def ratio(
        self, key: str, over: ToldAmount, under: ToldAmount, of: str = EVERYBODY, *, sure: Estimate | None = None
    ) -> FigureView:
        """One told amount for each of another; `sure` is how surely that is known, which is told coarsely too."""
        value = over.value / under.value if over.value is not None and under.value else None
        hidden = over.value is None or under.value is None
        ends = Ends(value, None, None)
        if value is not None and sure is not None:
            low, high = tell_ends(sure.low, sure.high)
            ends = Ends(value, min(low, value), max(high, value))
        return self._view(key, ends, under.things.value, of, "ratio of two sums", hidden=hidden)

    def read_off(self, key: str, ends: Ends, curve: CurveView) -> FigureView:
        """What is read from a told curve; nothing where it ends before."""
        view = self._view(key, ends, curve.n, curve.of, "read from the told curve", hidden=curve.n is None)
        return view.model_copy(update={"why": ENDS_BEFORE}) if curve.n and ends.value is None else view

    def _view(self, key: str, ends: Ends, n: int | None, of: str, method: str, *, hidden: bool) -> FigureView:
        return FigureView(
            key=key,
            of=of,
            unit=DEFINITIONS[key].unit,
            value=rounded(ends.value),
            low=rounded(ends.low),
            high=rounded(ends.high),
            n=n,
            suppressed=hidden,
            method=method,
            as_of=self.as_of,
            why=HIDDEN_WHY if hidden else NOTHING_WHY if ends.value is None else "",
        )

    def table(self, population: str, name: str) -> TableView:
        """One cut of a population."""
        counted, told = self.counted[population], self.told[population]
        return TableView(
            population=population,
            name=name,
            title=f"{counted.title}: {_lower(counted.cut(name).title)}",
            columns=list(told.columns),
            rows=[
                RowView(
                    label=row,
                    cells=[cell(told.at(name, row, column)) for column in told.columns],
                    total=cell(told.at(name, row)),
                )
                for row in self.rows(population, name)
            ],
            totals=[cell(told.at(column=column)) for column in told.columns],
            total=cell(told.total),
        )

    def tables(self, population: str) -> list[TableView]:
        """Every cut of a population."""
        return [self.table(population, each.name) for each in self.told[population].tables]


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]


def rounded(value: float | None) -> float | None:
    """Four significant digits: finer than anything told, coarse enough to be the same on every machine."""
    return None if value is None else float(f"{value:.4g}")


def cell(told: Told) -> CellView:
    """A count as it is answered."""
    return CellView(value=told.value, hidden=told.hidden)
