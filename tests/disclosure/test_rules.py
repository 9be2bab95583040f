"""What is told of one count."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from service.disclosure.cuts import Cell, Population, Sum, Table, counted
from service.disclosure.disclose import disclose
from service.disclosure.rules import NOTHING, SMALL, WITHHELD, Hidden, Rule, Told, Window
from service.kit.errors import Invalid

rules = some.builds(Rule, threshold=some.integers(8, 40), base=some.integers(5, 25))


def test_nothing_is_told_small_counts_are_not_others_are_rounded():
    rule = Rule()
    said = [rule.words(rule.tell(count)) for count in (0, 1, 7, 8, 12, 13, 17, 18, 1001)]
    assert said == ["0", "fewer than 8", "fewer than 8", "10", "10", "15", "15", "20", "1000"]


def test_the_window_of_what_is_told():
    rule = Rule()
    assert rule.window(NOTHING) == Window(0, 0)
    assert rule.window(SMALL) == Window(1, 7)
    assert rule.window(Told(10)) == Window(8, 12)
    assert rule.window(Told(15)) == Window(13, 17)
    assert rule.window(WITHHELD) == Window(1, None)


@given(rules, some.integers(0, 500))
def test_a_count_lies_in_the_window_of_what_is_told_of_it_and_no_other_does(rule: Rule, count: int):
    told = rule.tell(count)
    window = rule.window(told)
    assert window.high is not None
    same = [each for each in range(600) if rule.tell(each) == told]
    assert same == list(range(window.low, window.high + 1))
    assert count in same


@given(rules, some.integers(1, 500))
def test_every_window_but_that_of_nothing_holds_three_counts_or_more(rule: Rule, count: int):
    window = rule.window(rule.tell(count))
    assert window.high is not None
    assert window.high - window.low >= 2


@given(rules, some.integers(0, 500))
def test_no_small_number_is_ever_told(rule: Rule, count: int):
    told = rule.tell(count)
    assert told.value is None or told.value == 0 or told.value >= rule.threshold


@pytest.mark.parametrize(("threshold", "base", "wrong"), [(7, 5, "threshold"), (0, 5, "threshold"), (8, 4, "base")])
def test_a_rule_that_tells_more_is_refused_with_what_to_do(threshold: int, base: int, wrong: str):
    with pytest.raises(Invalid, match=r"choose \d+ or more") as refused:
        Rule(threshold, base)
    assert [each.field for each in refused.value.fields] == [wrong]


def test_what_no_rule_tells_has_no_window():
    with pytest.raises(ValueError, match="12 is never told"):
        Rule().window(Told(12))
    with pytest.raises(ValueError, match="one of the two"):
        Told(None)
    with pytest.raises(ValueError, match="one of the two"):
        Told(10, Hidden.SMALL)


def test_things_are_counted_into_every_cut():
    cuts = {"kind": ["hand", "socket"], "site": ["north", "south"]}
    things = [("worn", {"kind": "hand", "site": "north"})] * 9 + [("stopped", {"kind": "socket", "site": "north"})] * 2
    both = Sum("either kind", (Cell("kind", "hand"), Cell("kind", "socket")))
    population = counted("devices", ["worn", "stopped"], cuts, things, [both])
    assert population.tables == (
        Table("kind", ("hand", "socket"), ((9, 0), (0, 2))),
        Table("site", ("north", "south"), ((9, 2), (0, 0))),
    )
    told = disclose(population, Rule())
    assert (told.at("kind", "hand", "worn"), told.at("kind", "socket"), told.total) == (Told(10), SMALL, Told(10))
    assert (told.at("site", "south"), told.at(column="stopped"), told.sum("either kind")) == (NOTHING, SMALL, Told(10))


@pytest.mark.parametrize(
    ("rows", "counts", "said"),
    [
        (("a", "b"), ((1, 2),), "for each row and column"),
        (("a",), ((1, 2, 3),), "for each row and column"),
        (("a",), ((1, -2),), "fewer than nothing"),
        (("a", "a"), ((1, 2), (1, 2)), "named twice"),
        (("a",), ((9, 9),), "add up to the same"),
    ],
)
def test_tables_that_do_not_count_the_same_are_refused(rows, counts, said):
    with pytest.raises(ValueError, match=said):
        Population("p", ("x", "y"), (Table("one", ("a",), ((1, 2),)), Table("two", rows, counts)))


def test_things_and_cells_from_elsewhere_are_refused():
    with pytest.raises(ValueError, match="in no row"):
        counted("p", ["x"], {"site": ["north"]}, [("x", {"site": "south"})])
    with pytest.raises(ValueError, match="not of this population"):
        counted("p", ["x"], {"site": ["north"]}, [], [Sum("s", (Cell("site", "south"),))])
    with pytest.raises(ValueError, match="or neither"):
        Cell(table="site")
