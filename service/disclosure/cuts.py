"""Counts of the same people or things, cut in several ways: exact, so not for those who may not see cases."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Cell:
    """A number in a population's tables. A row's total names no column, a column's total names neither table nor row
    (every table shares it), and the total of all names nothing.
    """

    table: str | None = None
    row: str | None = None
    column: str | None = None

    def __post_init__(self) -> None:
        if (self.table is None) != (self.row is None):
            raise ValueError("a cell names a table and one of its rows, or neither")


EVERYBODY = Cell()


@dataclass(frozen=True)
class Table:
    """One way of cutting a population into rows. `counts` is rows x columns; the columns are the population's."""

    name: str
    rows: tuple[str, ...]
    counts: tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Sum:
    """A number that adds up cells, such as all years up to one; a cell may be in it once."""

    name: str
    of: tuple[Cell, ...]


@dataclass(frozen=True)
class Population:
    """The same people or things, each in one row of every table and in one column.

    `keep` names columns whose rows are worth more to a reader than any total, so that totals are withheld first.
    """

    name: str
    columns: tuple[str, ...]
    tables: tuple[Table, ...]
    sums: tuple[Sum, ...] = ()
    keep: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _distinct("columns", self.columns)
        _distinct("tables", [each.name for each in self.tables])
        _distinct("sums", [each.name for each in self.sums])
        if not set(self.columns).issuperset(self.keep):
            raise ValueError("a column to be kept is one of the population's")
        for table in self.tables:
            _distinct(f"rows of {table.name}", table.rows)
            shape = (len(table.rows), {len(row) for row in table.counts} | {len(self.columns)})
            if shape != (len(table.counts), {len(self.columns)}):
                raise ValueError(f"{table.name} does not hold a count for each row and column")
            if any(count < 0 for row in table.counts for count in row):
                raise ValueError(f"{table.name} counts fewer than nothing")
        if not self.tables:
            raise ValueError("a population is cut by one table or more")
        if len({_column_sums(table) for table in self.tables}) > 1:
            raise ValueError("tables of one population count the same people, so their columns add up to the same")
        known = {*self.cells()}
        for each in self.sums:
            _distinct(f"cells of {each.name}", each.of)
            if not each.of or not known.issuperset(each.of):
                raise ValueError(f"{each.name} adds up cells that are not of this population")

    def cells(self) -> Iterable[Cell]:
        """Every number: the total, the columns' totals, then each table's rows with their totals first."""
        yield EVERYBODY
        yield from (Cell(column=column) for column in self.columns)
        for table in self.tables:
            for row in table.rows:
                yield from (Cell(table.name, row, column) for column in (None, *self.columns))

    def exact(self) -> dict[Cell, int]:
        """The true count of every cell."""
        columns = _column_sums(self.tables[0])
        counts = {EVERYBODY: sum(columns)}
        counts |= {Cell(column=column): count for column, count in zip(self.columns, columns, strict=True)}
        for table in self.tables:
            for row, inner in zip(table.rows, table.counts, strict=True):
                counts[Cell(table.name, row)] = sum(inner)
                counts |= {Cell(table.name, row, column): n for column, n in zip(self.columns, inner, strict=True)}
        return counts


def _column_sums(table: Table) -> tuple[int, ...]:
    return tuple(map(sum, zip(*table.counts, strict=True)))


def _distinct(what: str, names: Sequence[object]) -> None:
    if not names or len(set(names)) < len(names):
        if what in {"sums", "tables"} and not names:
            return
        raise ValueError(f"the {what} are none, or one of them is named twice")


def counted(
    name: str,
    columns: Sequence[str],
    cuts: Mapping[str, Sequence[str]],
    things: Iterable[tuple[str, Mapping[str, str]]],
    sums: Sequence[Sum] = (),
) -> Population:
    """A population counted one by one: of each person or thing its column, and its row in every cut.

    `cuts` names the tables with their rows, in the order in which they are shown.
    """
    tally: Counter[tuple[str, str, str]] = Counter()
    for column, rows in things:
        if column not in columns or any(rows.get(cut) not in cuts[cut] for cut in cuts):
            raise ValueError(f"{name}: something is in no column, or in no row of a table")
        tally.update((cut, rows[cut], column) for cut in cuts)
    tables = tuple(
        Table(cut, tuple(rows), tuple(tuple(tally[cut, row, column] for column in columns) for row in rows))
        for cut, rows in cuts.items()
    )
    return Population(name, tuple(columns), tables, tuple(sums))
