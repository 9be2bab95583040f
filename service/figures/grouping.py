"""Which figures and curves belong together: those of one cut, or of one design. Pure.

A sheet lists them one after another, each with the row that it is `of`; the section's tables say what the rows are.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final, TypeVar

from service.figures.reading import upper
from service.figures.sheets import ComparisonView, CurveView, FigureView, TableView

T = TypeVar("T", FigureView, CurveView)
K = TypeVar("K", FigureView, CurveView, ComparisonView)


def by_key(items: Iterable[K]) -> dict[str, list[K]]:
    """Items by the key of their definition, in the order in which keys come first."""
    found: dict[str, list[K]] = {}
    for each in items:
        found.setdefault(each.key, []).append(each)
    return found


def grouped(items: Sequence[T], tables: Sequence[TableView]) -> Iterator[tuple[str, list[T]]]:
    """Items of one key by the cut they follow, `("by site", [...])`; what follows none is under an empty title.

    A stretch of items that names the rows of a table one by one is of its cut; so is one that tells the cut before a
    colon (`age: under 5`), and one of years.
    """
    cuts = {each.title.partition(": ")[2] or each.title: [row.label for row in each.rows] for each in tables}
    rest: list[T] = []
    index = 0
    while index < len(items):
        title, length = _stretch([each.of for each in items[index:]], cuts)
        if not length:
            rest.append(items[index])
            index += 1
            continue
        if rest:
            yield "", rest
            rest = []
        yield title, list(items[index : index + length])
        index += length
    if rest:
        yield "", rest


def with_cuts(items: Iterable[T], tables: Sequence[TableView]) -> Iterator[tuple[str, T]]:
    """Each item with the cut that it is of, empty for none; those of one key together."""
    for of_key in by_key(items).values():
        for title, of in grouped(of_key, tables):
            yield from ((title, each) for each in of)


def labelled(items: Sequence[T], tables: Sequence[TableView]) -> Iterator[tuple[str, list[tuple[str, T]]]]:
    """Groups as they are shown, with a label for each item.

    What follows no cut is parted by design (`Cup` of `Cup, version 2`), which is the title of its group then.
    """
    for title, of in grouped(items, tables):
        if title:
            yield upper(title), [(upper(_within(each.of, title)), each) for each in of]
            continue
        for design, some in groupby(of, lambda each: each.of.rpartition(", ")[0]):
            yield upper(design), [(upper(each.of.rpartition(", ")[2]), each) for each in some]


def _within(of: str, title: str) -> str:
    return of.removeprefix(f"{title.removeprefix('by ')}: ")


def _stretch(names: list[str], cuts: dict[str, list[str]]) -> tuple[str, int]:
    """The title of the cut that some items begin with, and how many of them are of it; 0 for none."""
    for title, rows in cuts.items():
        if rows and names[: len(rows)] == rows:
            return title, len(rows)
    if _YEAR.fullmatch(names[0]):
        return "by year", _while(names, lambda name: _YEAR.fullmatch(name) is not None)
    cut, colon, _ = names[0].partition(": ")
    return (f"by {cut}", _while(names, lambda name: name.startswith(f"{cut}: "))) if colon else ("", 0)


def _while(names: list[str], holds: Callable[[str], bool]) -> int:
    return next((index for index, name in enumerate(names) if not holds(name)), len(names))


_YEAR: Final = re.compile(r"\d{4}")
