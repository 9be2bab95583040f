"""What people read: dates, spans, chances and socks, in plain English."""

from dataclasses import dataclass
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.kit.days import full_day
from service.web import words

TODAY = date(2026, 11, 25)


@dataclass(frozen=True)
class Due:
    p10: date | None = None
    p50: date | None = None
    p90: date | None = None


@pytest.mark.parametrize(
    ("on", "said"),
    [
        (TODAY, "25 November"),
        (date(2027, 3, 12), "12 March"),
        (date(2026, 6, 1), "1 June"),
        (date(2027, 9, 1), "1 September 2027"),
        (date(2025, 11, 26), "26 November 2025"),
    ],
)
def test_a_day_is_said_as_people_say_it(on: date, said: str) -> None:
    assert words.day(on, TODAY) == said


def test_in_a_table_every_day_has_its_year() -> None:
    assert full_day(date(2027, 3, 12)) == "12 March 2027"


@given(st.dates(date(2020, 1, 1), date(2035, 1, 1)), st.integers(1, 15))
def test_a_day_without_its_year_can_mean_only_one_day(on: date, years: int) -> None:
    if on.month == 2 and on.day == 29:
        return
    if words.day(on, TODAY) == words.day(on.replace(year=on.year + years), TODAY):
        pytest.fail(f"{on} and the same day {years} years later are said alike")


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (1, "one day"),
        (13, "13 days"),
        (21, "about three weeks"),
        (60, "about two months"),
        (122, "about four months"),
        (365, "about a year"),
        (550, "about a year and a half"),
        (730, "about two years"),
        (913, "about two and a half years"),
        (-122, "about four months"),
    ],
)
def test_a_span_is_rounded_to_what_can_be_pictured(days: int, said: str) -> None:
    assert words.span(days) == said


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (0, "today"),
        (1, "tomorrow"),
        (-1, "yesterday"),
        (5, "in five days"),
        (122, "in about four months"),
        (-21, "about three weeks ago"),
    ],
)
def test_a_distance_says_which_way(days: int, said: str) -> None:
    assert words.distance(TODAY + timedelta(days=days), TODAY) == said


@pytest.mark.parametrize(
    ("born", "said"),
    [
        (date(2019, 11, 25), "7 years"),
        (date(2019, 11, 26), "6 years"),
        (date(2025, 9, 25), "14 months"),
        (date(2026, 10, 25), "1 month"),
        (date(2026, 11, 24), "0 months"),
        (date(2024, 11, 25), "2 years"),
    ],
)
def test_age_is_in_completed_years_and_for_the_small_in_months(born: date, said: str) -> None:
    assert words.age(born, TODAY) == said


@pytest.mark.parametrize(
    ("p", "said"),
    [
        (0.0, "less than 1 in 100"),
        (0.02, "about 1 in 50"),
        (0.05, "about 1 in 20"),
        (0.31, "about 3 in 10"),
        (0.5, "about 5 in 10"),
        (0.9, "about 9 in 10"),
        (0.95, "about 19 in 20"),
        (1.0, "more than 99 in 100"),
    ],
)
def test_a_chance_is_a_frequency(p: float, said: str) -> None:
    assert words.chance(p) == said


@given(st.floats(0.01, 0.99))
def test_a_chance_said_is_close_to_the_chance_meant(p: float) -> None:
    above, below = (int(word) for word in words.chance(p).split() if word.isdigit())
    assert above / below == pytest.approx(p, abs=0.051)


def test_due_dates_are_said_with_their_uncertainty() -> None:
    due = Due(date(2027, 3, 20), date(2027, 6, 10), date(2027, 9, 25))
    assert words.due(due, TODAY) == "will be tight around June"
    assert words.due_range(due, TODAY) == "8 times in 10 between March and September"


def test_when_one_month_needs_its_year_all_months_have_it() -> None:
    due = Due(date(2027, 6, 1), date(2028, 6, 1), date(2029, 1, 1))
    assert words.due(due, TODAY) == "will be tight around June 2028"
    assert words.due_range(due, TODAY) == "8 times in 10 between June 2027 and January 2029"


def test_a_date_nobody_knows_is_not_made_up() -> None:
    assert words.due(Due(), TODAY) == "will not be tight within three years"
    assert words.due_range(Due(), TODAY) == ""
    early = Due(date(2028, 12, 20))
    assert words.due(early, TODAY) == ("will probably not be tight within three years, but may be from December 2028")
    late = Due(date(2027, 9, 1), date(2028, 9, 1))
    assert words.due_range(late, TODAY) == ("1 time in 10 before September 2027, 1 time in 10 not within three years")


def test_already_tight_is_an_answer() -> None:
    due = Due(TODAY, TODAY, TODAY + timedelta(days=40))
    assert words.due(due, TODAY, already=0.71) == "is probably tight already"
    assert words.due(due, TODAY, already=0.97) == "is almost certainly tight already"
    assert words.due(due, TODAY) == "is probably tight already"
    assert words.due_range(due, TODAY) == "8 times in 10 between now and January"
    assert words.due_range(Due(TODAY, TODAY, TODAY), TODAY) == "8 times in 10 by now"
    later_this_month = TODAY + timedelta(days=5)
    assert later_this_month.month == TODAY.month
    said = words.due_range(Due(TODAY, TODAY, later_this_month), TODAY)
    assert said == "8 times in 10 by the end of this month"


@pytest.mark.parametrize(
    ("plies", "said"),
    [
        ([], "no sock"),
        ([3], "one 3-ply sock"),
        ([3, 3], "two 3-ply socks"),
        ([3, 1, 3], "one 1-ply and two 3-ply socks"),
        ([1, 2, 3], "one 1-ply, one 2-ply and one 3-ply socks"),
    ],
)
def test_socks_are_counted_by_ply_never_added_up(plies: list[int], said: str) -> None:
    assert words.socks(plies) == said


def test_millimetres_carry_their_unit() -> None:
    assert words.millimetres(178) == "178.0 mm"


def test_every_filter_is_a_function_of_this_module_with_a_docstring() -> None:
    assert words.FILTERS
    for name, function in words.FILTERS.items():
        assert getattr(words, name) is function
        assert function.__doc__
