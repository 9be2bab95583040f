"""What can be worked out of tables, against published examples, with the source beside each."""

from __future__ import annotations

import numpy as np

from service.disclosure import Population, Rule, Table, Told, disclose
from service.disclosure.audit import possible
from service.disclosure.cuts import Cell
from service.disclosure.system import system
from tests.disclosure.attacker import Puzzle, found_out

# Source: Hundepool et al., Handbook on Statistical Disclosure Control, second edition, 2024, section 4.2, example 3,
# after Geurts 1992, table 10: three rows, two columns; the first two rows are hidden, all totals are told.
HIDDEN = ("11", "12", "21", "22")
TOLD = {"31": 3, "32": 3, "1": 7, "2": 3, "3": 6, "_1": 9, "_2": 7, "all": 16}
ADDS = [
    *(((f"{row}1", f"{row}2"), row) for row in "123"),
    *((("1" + at, "2" + at, "3" + at), "_" + at) for at in "12"),
    (("_1", "_2"), "all"),
]
RANGE_OF_THE_FIRST = (3, 6)


def test_the_attacker_finds_the_published_range():
    windows = {**dict.fromkeys(HIDDEN, (0, 16)), **{label: (count, count) for label, count in TOLD.items()}}
    puzzle = Puzzle(windows, [*ADDS])
    assert (puzzle.least("11"), puzzle.most("11")) == RANGE_OF_THE_FIRST


def test_the_audit_finds_the_published_range():
    # Any counts behind the published totals will do; these have no nothing among them.
    population = Population("Geurts", ("1", "2"), (Table("rows", ("1", "2", "3"), ((5, 2), (1, 2), (3, 3))),))
    exact = population.exact()
    of = system(population, {cell: Told(count) for cell, count in exact.items()})
    counts = np.array([exact[each] for each in of.places if isinstance(each, Cell)])
    hidden = np.array([isinstance(each, Cell) and each.row in {"1", "2"} and bool(each.column) for each in of.places])
    first = (np.array(of.places, dtype=object) == Cell("rows", "1", "1")).astype(np.int64)
    low, high = np.where(hidden, 0, counts), np.where(hidden, 16, counts)
    ends = [possible(sign * first, of.adds, low, high) for sign in (-1, 1)]
    assert hidden.sum() == len(HIDDEN)
    assert tuple(int(each @ first) for each in ends if each is not None) == RANGE_OF_THE_FIRST


# Source: the same, section 5.2, table "Marital status by sex": the one single woman is whom the table gives away.
SEX, STATUS = ("male", "female"), ("married", "divorced", "single")
COUNTS = ((38, 17), (7, 4), (3, 1))


def test_the_published_table_gives_away_the_one_that_is_hidden_alone_and_not_as_it_is_told_here():
    inner = {
        f"{row} {column}": n
        for row, each in zip(STATUS, COUNTS, strict=True)
        for column, n in zip(SEX, each, strict=True)
    }
    totals = {row: sum(each) for row, each in zip(STATUS, COUNTS, strict=True)}
    windows = {label: (count, count) for label, count in {**inner, **totals}.items()} | {"single female": (0, 70)}
    puzzle = Puzzle(windows, [(tuple(f"{row} {column}" for column in SEX), row) for row in STATUS])
    assert [str(each) for each in puzzle.few(2) if each.label == "single female"] == ["single female is 1"]
    told = disclose(Population("area", SEX, (Table("status", STATUS, COUNTS),)), Rule())
    assert found_out([told.as_data()], fewer_than=3) == []


# Source: the same, section 5.5, "Population counts by sex" and the table after it: conventional rounding to base 5,
# each total by itself. (Its cell of 32 is printed as 35, which is not the nearest, and is left out.)
ROUNDED = {12: 10, 20: 20, 16: 15, 23: 25, 39: 40}


def test_counts_are_rounded_as_published():
    assert {count: Rule().tell(count).value for count in ROUNDED} == ROUNDED
