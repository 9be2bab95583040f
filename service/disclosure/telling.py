"""A population as it is told, for whoever draws it, and as plain data for whoever reads it elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.disclosure.cuts import EVERYBODY, Cell, Sum
from service.disclosure.rules import Rule, Told


@dataclass(frozen=True)
class ToldTable:
    """One cut: its name and its rows, in order."""

    name: str
    rows: tuple[str, ...]


@dataclass(frozen=True)
class ToldPopulation:
    """What is told of a population: a Told for every cell and for every sum.

    Whether small numbers are among the withheld is not said: with that, some could be worked out.
    """

    name: str
    columns: tuple[str, ...]
    tables: tuple[ToldTable, ...]
    sums: tuple[Sum, ...]
    rule: Rule
    told: Mapping[Cell, Told]
    told_sums: Mapping[str, Told]

    @property
    def total(self) -> Told:
        """Of all."""
        return self.told[EVERYBODY]

    def at(self, table: str | None = None, row: str | None = None, column: str | None = None) -> Told:
        """One cell; a total leaves out what it adds up over."""
        return self.told[Cell(table, row, column)]

    def sum(self, name: str) -> Told:
        """A number that adds up cells."""
        return self.told_sums[name]

    def as_data(self) -> dict[str, Any]:
        """The same as lists and dicts: counts are numbers, or the word of `Hidden` that says why there is none."""

        def said(told: Told) -> int | str:
            return told.hidden.value if told.hidden else told.value if told.value is not None else 0

        return {
            "name": self.name,
            "threshold": self.rule.threshold,
            "base": self.rule.base,
            "columns": [*self.columns],
            "total": said(self.total),
            "column_totals": [said(self.at(column=column)) for column in self.columns],
            "tables": [
                {
                    "name": table.name,
                    "rows": [*table.rows],
                    "row_totals": [said(self.at(table.name, row)) for row in table.rows],
                    "counts": [
                        [said(self.at(table.name, row, column)) for column in self.columns] for row in table.rows
                    ],
                }
                for table in self.tables
            ],
            "sums": [
                {
                    "name": each.name,
                    "of": [[cell.table, cell.row, cell.column] for cell in each.of],
                    "count": said(self.sum(each.name)),
                }
                for each in self.sums
            ],
        }
