"""Somebody who has all that a trustee can get, and knows how it was told, cannot find a single number that is hidden.

The attacker is `tests/disclosure/attacker.py`: integer programming over all tables at once. What he is given here is
checked to be all there is: each cell of a sheet is a told cell, and figures are arithmetic of these.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from service.disclosure import Rule, ToldPopulation, disclose
from service.figures.compiling import counts, sheet
from service.figures.facts import Facts
from service.figures.sheets import CellView, CurveView, SheetView
from tests.disclosure.attacker import found_out
from tests.figures.registers import facts

NOW = datetime(2026, 1, 20, tzinfo=UTC)
RULE = Rule()


def told(of: Facts, *, secondary: bool = True) -> dict[str, ToldPopulation]:
    return {name: disclose(each.population, RULE, secondary=secondary) for name, each in counts(of).items()}


def drawn(seed: int) -> Facts:
    return facts(seed, people=25 + 15 * seed)


@pytest.mark.parametrize("seed", range(10))
def test_an_attacker_finds_nothing_in_ten_drawn_registers(seed: int) -> None:
    populations = told(drawn(seed))
    assert found_out((each.as_data() for each in populations.values()), fewer_than=3) == []


@pytest.mark.parametrize("seed", range(10))
def test_he_finds_something_when_nothing_is_withheld_for_others_sake(seed: int) -> None:
    """Seen to succeed, so that his failing above says something."""
    bare = [each.as_data() for each in told(drawn(seed), secondary=False).values()]
    assert found_out(bare, fewer_than=3)
    if seed == 0:
        assert found_out(bare), "in the smallest register single counts are pinned"


def cells(made: SheetView) -> list[tuple[str, str, str | None, str | None, CellView]]:
    """Every cell of a sheet's tables, as (population, table, row, column, cell)."""
    found: list[tuple[str, str, str | None, str | None, CellView]] = []
    for table in (table for section in made.sections for table in section.tables):
        for row in table.rows:
            found += [
                (table.population, table.name, row.label, column, cell)
                for column, cell in zip(table.columns, row.cells, strict=True)
            ]
            found.append((table.population, table.name, row.label, None, row.total))
    return found


def test_a_sheet_shows_told_cells_and_every_one_of_them_is_attacked() -> None:
    of = facts(5)
    populations, made = told(of), sheet(of, RULE, NOW)
    shown = cells(made)
    for population, table, row, column, cell in shown:
        known = populations[population].at(table, row, column)
        assert (cell.value, cell.hidden) == (known.value, known.hidden)
    # Whoever leaves a table out of a section leaves something that can be read nowhere; whoever adds one is found here.
    tables = {(name, table.name) for name, each in populations.items() for table in each.tables}
    assert {(population, table) for population, table, *_ in shown} == tables


def figures(made: SheetView) -> list[dict[str, Any]]:
    return [each.model_dump() for section in made.sections for each in section.figures]


def test_no_small_count_stands_anywhere_in_a_sheet() -> None:
    """Counts that things rest on are rounded, and none is between nothing and the threshold."""
    for seed in range(4):
        made = sheet(facts(seed), RULE, NOW)
        numbers = [each["n"] for each in figures(made) if each["n"] is not None]
        numbers += [cell.value for *_, cell in cells(made) if cell.value is not None]
        assert all(each == 0 or (each >= RULE.threshold and each % RULE.base == 0) for each in numbers)


def inverted(curve: CurveView) -> dict[str, Any]:
    """A curve as an attacker takes it apart: how many of how many are gone at each step, and how many are watched."""
    assert curve.n is not None
    points = []
    for point in curve.points:
        gone = "small" if point.value is None else RULE.base * round(curve.n * (1 - point.value) / RULE.base)
        points.append({"gone": gone, "at_least_at_risk": point.n})
    return {
        "name": curve.of,
        "threshold": RULE.threshold,
        "base": RULE.base,
        "things": curve.n,
        "points": points,
    }


@pytest.mark.parametrize("seed", range(3))
def test_no_step_of_a_curve_gives_a_count_away(seed: int) -> None:
    made = sheet(facts(seed, 70 + 40 * seed), RULE, NOW)
    curves = [each for section in made.sections for each in section.curves if each.points]
    assert curves
    assert found_out([], fewer_than=3, curves=map(inverted, curves)) == []


def test_where_nobody_agreed_nothing_is_counted_but_safety() -> None:
    of = facts(4)
    nobody = replace(of, people={each: person._replace(counted=False) for each, person in of.people.items()})
    counted = {name for name, each in told(nobody).items() if each.total.value != 0}
    assert counted == {"incidents", "notices", "looks"}
    money = [each for each in figures(sheet(nobody, RULE, NOW)) if each["key"].startswith(("costs", "fit", "wear"))]
    assert money
    assert all(each["value"] in {None, 0} for each in money)


def test_a_median_that_the_curve_does_not_reach_is_not_called_uncounted() -> None:
    made = sheet(facts(6), RULE, NOW)
    halves = {each["of"]: each for each in figures(made) if each["key"] == "waits.half"}
    for curve in (each for each in made.section("waits").curves if each.points):
        reached = any(point.value is not None and point.value <= 0.5 for point in curve.points)
        assert (halves[curve.of]["value"] is not None) is reached
        assert ("ends before half" in halves[curve.of]["why"]) is not reached
        assert not halves[curve.of]["suppressed"]
