"""Somebody who knows all that is told, and the rule, works out no number; where nothing is withheld, they do."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from service.disclosure import EVERYBODY, Cell, Hidden, Population, Rule, Sum, Table, Told, ToldPopulation, disclose
from service.disclosure.rules import NOTHING, SMALL, WITHHELD
from tests.disclosure.attacker import found_out, puzzle
from tests.disclosure.registers import drawn, on_edge

RULE = Rule()
REGISTERS = [*map(drawn, range(10, 20)), *map(on_edge, range(10))]
BARE = {each.name: disclose(each, RULE, secondary=False) for each in REGISTERS}


def withheld(told: ToldPopulation) -> set[Cell]:
    return {cell for cell, each in told.told.items() if each.hidden is Hidden.WITHHELD}


def no_small_one_is_withheld(population: Population, told: ToldPopulation, rule: Rule) -> bool:
    exact = population.exact()
    sums = [each for each in population.sums if told.sum(each.name) == WITHHELD]
    counts = [*(exact[cell] for cell in withheld(told)), *(sum(exact[cell] for cell in each.of) for each in sums)]
    return all(count >= rule.threshold for count in counts)


def worked_out(population: Population, told: ToldPopulation, rule: Rule = RULE) -> list[str]:
    """All that may be fewer than three counts, also to somebody who guesses, rightly, that none withheld is small."""
    found = found_out([told.as_data()], fewer_than=3)
    if no_small_one_is_withheld(population, told, rule):
        found += map(str, puzzle(told.as_data(), withheld_from=rule.threshold).few(3))
    return found


@pytest.mark.parametrize("population", REGISTERS, ids=lambda each: each.name)
def test_no_number_of_a_register_can_be_worked_out(population: Population):
    assert worked_out(population, disclose(population, RULE)) == []


def test_of_registers_where_nothing_is_withheld_numbers_are_worked_out():
    pinned = {name: found_out([told.as_data()]) for name, told in BARE.items()}
    nearly = {name: found_out([told.as_data()], fewer_than=3) for name, told in BARE.items()}
    assert sum(bool(found) for found in pinned.values()) >= 5, pinned
    assert sum(bool(found) for found in nearly.values()) >= 12, nearly


def test_what_is_worked_out_is_true():
    population = on_edge(1)
    exact = population.exact()
    found = found_out([BARE[population.name].as_data()])
    names = {" / ".join((cell.table or "all", cell.row or "all", cell.column or "all")): cell for cell in exact}
    assert found
    for each in found:
        label, _, count = each.removeprefix(f"{population.name}: ").rpartition(" is ")
        assert exact[names[label]] == int(count)


def test_four_rounded_cells_that_give_each_other_away_are_protected():
    """Told 10, 10, 10, 10 and 50: forty-eight at most are fifty at least, so each would be twelve."""
    population = Population("p", ("a", "b", "c", "d"), (Table("kind", ("hand",), ((12, 12, 12, 12),)),))
    bare, told = disclose(population, RULE, secondary=False), disclose(population, RULE)
    assert (bare.total, bare.at("kind", "hand", "a")) == (Told(50), Told(10))
    assert "p: kind / hand / a is 12" in found_out([bare.as_data()])
    assert found_out([told.as_data()], fewer_than=3) == []
    assert told.total == Told(50)  # what stands behind most figures is kept
    assert no_small_one_is_withheld(population, told, RULE)
    assert worked_out(population, told) == []


def test_small_counts_that_give_each_other_away_are_protected():
    """Six of six years have somebody, and together there are fewer than eight: so each has one or two."""
    years = tuple(str(year) for year in range(2020, 2026))
    population = Population("p", ("lost",), (Table("year", years, ((1,), (1,), (2,), (1,), (1,), (1,))),))
    bare, told = disclose(population, RULE, secondary=False), disclose(population, RULE)
    assert "p: year / 2022 / lost is 1 to 2" in found_out([bare.as_data()], fewer_than=3)
    assert found_out([told.as_data()], fewer_than=3) == []
    assert told.total == WITHHELD
    assert all(told.at("year", year, "lost") in {SMALL, WITHHELD} for year in years)


def test_a_small_count_between_tables_is_protected():
    """One table alone gives nothing away; the other bounds the column they share."""
    by_kind = Table("kind", ("hand", "socket", "arm"), ((12, 40), (12, 20), (12, 3)))
    by_site = Table("site", ("north", "south"), ((18, 33), (18, 30)))
    one = Population("p", ("worn", "stopped"), (by_kind,))
    both = Population("p", ("worn", "stopped"), (by_kind, by_site))
    alone, linked = (set(found_out([disclose(each, RULE, secondary=False).as_data()], 3)) for each in (one, both))
    assert linked - alone
    assert found_out([disclose(both, RULE).as_data()], fewer_than=3) == []


@pytest.mark.parametrize("population", [on_edge(2), on_edge(8), drawn(12)], ids=lambda each: each.name)
def test_counts_that_are_told_alike_stay_alike(population: Population):
    """What is withheld follows from what is told: other counts behind the same numbers lead to the same."""
    bare = disclose(population, RULE, secondary=False)
    solved = puzzle(bare.as_data())
    tables = population.tables

    def other(table: Table, row: str) -> tuple[int, ...]:
        return tuple(solved.value(f"{table.name} / {row} / {column}") for column in population.columns)

    solved.most(f"{tables[0].name} / {tables[0].rows[0]} / all")
    moved = [Table(each.name, each.rows, tuple(other(each, row) for row in each.rows)) for each in tables]
    twin = Population(population.name, population.columns, tuple(moved), population.sums)
    assert twin != population
    assert disclose(twin, RULE, secondary=False) == bare
    assert disclose(twin, RULE) == disclose(population, RULE)
    assert disclose(twin, RULE) != bare


def test_a_sum_of_cells_is_protected_with_them():
    years = ("2023", "2024", "2025")
    table = Table("year", years, ((40, 13), (30, 13), (8, 13)))
    cells = tuple(Cell("year", year, "stopped") for year in years[:2])
    population = Population("p", ("worn", "stopped"), (table,), (Sum("to 2024", cells),))
    bare, told = disclose(population, RULE, secondary=False), disclose(population, RULE)
    assert bare.sum("to 2024") == Told(25)
    assert any("2023 / stopped" in each for each in found_out([bare.as_data()], fewer_than=3))
    assert found_out([told.as_data()], fewer_than=3) == []


def test_nobody_at_all_is_told_as_nothing():
    population = Population("p", ("a", "b"), (Table("kind", ("hand",), ((0, 0),)),))
    assert {*disclose(population, RULE).told.values()} == {NOTHING}


def test_the_largest_population_takes_seconds():
    """Twelve cuts of ten rows, as many as a register's figures have: 2 seconds of processor when this was written."""
    population = drawn(3, tables=12, rows=10, columns=4)
    before = time.process_time()
    told = disclose(population, RULE)
    assert time.process_time() - before < 10
    assert len(told.told) == 1 + 4 + 12 * 10 * 5


def populations() -> some.SearchStrategy[Population]:
    """Two tables whose columns are shared out over their rows, with many small and many equal counts."""

    @some.composite
    def made(draw: Callable[..., object]) -> Population:
        count = some.one_of(
            some.just(0), some.integers(1, 9), some.sampled_from([12, 13, 17, 18]), some.integers(0, 60)
        )
        columns = draw(some.integers(1, 4))
        assert isinstance(columns, int)
        row = some.lists(count, min_size=columns, max_size=columns)
        first = np.array(draw(some.lists(row, min_size=1, max_size=8)))
        chance = np.random.default_rng(draw(some.integers(0, 10_000)))  # type: ignore[arg-type]
        other = np.stack([chance.multinomial(total, [0.1, 0.2, 0.7]) for total in first.sum(axis=0)], axis=1)
        tables = [
            Table(name, tuple(f"{name}{at}" for at in range(len(counts))), tuple(map(tuple, counts.tolist())))
            for name, counts in (("one", first), ("two", other))
        ]
        return Population("p", tuple("abcd"[:columns]), tuple(tables))

    return made()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(populations(), some.sampled_from([Rule(), Rule(10, 5), Rule(12, 10)]))
def test_whatever_is_counted_it_ends_and_nothing_small_is_told(population: Population, rule: Rule):
    told = disclose(population, rule)
    for cell, count in population.exact().items():
        said = told.told[cell]
        assert (said == NOTHING) == (count == 0)
        if 0 < count < rule.threshold:
            assert said.hidden is not None
        if said.value is not None:
            assert said == rule.tell(count)
    assert told == disclose(population, rule)
    assert worked_out(population, told, rule) == []


@pytest.mark.parametrize("population", [on_edge(2), drawn(17), on_edge(9)], ids=lambda each: each.name)
def test_it_ends_and_is_safe_where_nothing_is_found_that_helps(population: Population, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("service.disclosure.protecting.cheapest_help", lambda *_: None)
    told = disclose(population, RULE)
    assert found_out([told.as_data()], fewer_than=3) == []
    assert all((each == NOTHING) == (population.exact()[cell] == 0) for cell, each in told.told.items())


def test_it_ends_when_nothing_can_be_seen_at_all(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("service.disclosure.protecting.cheapest_help", lambda *_: None)
    monkeypatch.setattr("service.disclosure.audit.possible", lambda *_: None)
    told = disclose(on_edge(2), RULE)
    assert {*told.told.values()} <= {WITHHELD, NOTHING}
    assert found_out([told.as_data()], fewer_than=3) == []


def test_withholding_takes_little():
    """Of the worst of these registers an eighth is withheld, and never the total."""
    told = disclose(on_edge(2), RULE)
    assert 0 < len(withheld(told)) <= len(told.told) / 8
    assert EVERYBODY not in withheld(told)


def test_a_column_to_be_kept_is_told_at_the_cost_of_totals():
    """What broke of each of two versions is told at the edge of what its total allows, so one of the three goes."""
    by_version = Table("version", ("one", "two"), ((59, 27), (13, 44)))
    plain = Population("p", ("broke", "whole"), (by_version,))
    kept = replace(plain, keep=("broke",))
    assert disclose(plain, RULE).at("version", "two", "broke").hidden is Hidden.WITHHELD
    told = disclose(kept, RULE)
    assert (told.at("version", "one", "broke"), told.at("version", "two", "broke")) == (Told(60), Told(15))
    assert found_out([told.as_data()], fewer_than=3) == []
    with pytest.raises(ValueError, match="one of the population's"):
        replace(plain, keep=("lost",))
