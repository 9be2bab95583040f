"""A sheet of figures as it is kept and answered: nothing in it says more than `disclosure` let through."""

from __future__ import annotations

from datetime import date, datetime

from pydantic import Field

from service.disclosure import Hidden
from service.kit.schema import View


class FigureView(View):
    """One figure. `value` with its 95 per cent interval `low` to `high`, in `unit`; `n` is what it rests on, as told.

    `suppressed` says that something is withheld so that nobody can be picked out; `why` says so, or what is missing, in
    a sentence. `key` leads to its definition, `of` is the row it is about ("everybody" or such as a site).
    """

    key: str
    of: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    n: int | None
    suppressed: bool
    method: str
    as_of: date
    why: str = ""


class CellView(View):
    """A count as told: rounded; or hidden, and why."""

    value: int | None
    hidden: Hidden | None = None


class RowView(View):
    """A row of a table: its cells in the order of the columns, and all of them together."""

    label: str
    cells: list[CellView]
    total: CellView


class TableView(View):
    """One cut of a population: its rows and columns split the same things as every other cut of it."""

    population: str
    name: str
    title: str
    columns: list[str]
    rows: list[RowView]
    totals: list[CellView]
    total: CellView


class PointView(View):
    """A point of a curve at `at` (in its unit): the share not yet ended (0-1); at least `n` are still followed."""

    at: int
    value: float | None
    low: float | None
    high: float | None
    n: int | None


class CurveView(View):
    """A survival curve of `n` things; `unit` is months or weeks. It ends where too few are followed to be told of."""

    key: str
    of: str
    unit: str
    n: int | None
    points: list[PointView]
    method: str


class ComparisonView(View):
    """Two groups compared: `verdict` as a sentence, `value` as a hazard ratio with its interval where one is told."""

    key: str
    of: str
    against: str
    value: float | None
    low: float | None
    high: float | None
    p: str
    suppressed: bool
    verdict: str


class RunView(View):
    """A run chart: values by quarter as told, its limits (None: too short), and what the rules find, in words."""

    key: str
    title: str
    unit: str
    quarters: list[str]
    values: list[float | None]
    mean: float | None
    low: float | None
    high: float | None
    findings: list[str]
    why: str = ""


class SectionView(View):
    """One question answered; `lead` says the answer in sentences."""

    key: str
    title: str
    lead: str
    figures: list[FigureView] = Field(default_factory=list)
    tables: list[TableView] = Field(default_factory=list)
    curves: list[CurveView] = Field(default_factory=list)
    comparisons: list[ComparisonView] = Field(default_factory=list)
    runs: list[RunView] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)


class SheetView(View):
    """Everything that is told at once, up to a day; `threshold` and `base` are the rule it was told by."""

    as_of: date
    computed_at: datetime
    method: str
    threshold: int
    base: int
    sections: list[SectionView]

    def section(self, key: str) -> SectionView:
        """A section by its key."""
        return next(each for each in self.sections if each.key == key)
