"""Up to which day figures go, and which periods may be asked for."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from service.figures.rules import AGES, FAR_KM, UNKNOWN, age_band, distance_band, due_sheets, quarters, year_asked


def test_sheets_are_due_for_the_last_years_and_the_last_quarter_that_is_well_over() -> None:
    today, first = date(2026, 11, 26), date(2019, 5, 1)
    assert due_sheets(today, first) == [date(2024, 12, 31), date(2025, 12, 31), date(2026, 9, 30)]
    # Two weeks into a quarter the last one is written down, a day earlier it may not be.
    assert due_sheets(date(2026, 10, 15), first)[-1] == date(2026, 9, 30)
    assert due_sheets(date(2026, 10, 14), first)[-1] == date(2026, 6, 30)


def test_nothing_is_told_of_years_before_the_first_thing_on_record() -> None:
    assert due_sheets(date(2026, 11, 26), date(2026, 2, 1)) == [date(2026, 9, 30)]
    assert due_sheets(date(2026, 2, 20), date(2026, 2, 1)) == []


def test_quarters_follow_each_other_up_to_the_last() -> None:
    assert quarters(date(2026, 3, 31), 6) == ("2024 Q4", "2025 Q1", "2025 Q2", "2025 Q3", "2025 Q4", "2026 Q1")


def test_a_whole_year_or_all_years_may_be_asked_for() -> None:
    assert year_asked(None, None) is None
    assert year_asked(date(2025, 1, 1), date(2025, 12, 31)) == 2025


@pytest.mark.parametrize(
    ("since", "until"),
    [
        (date(2025, 1, 1), None),
        (None, date(2025, 12, 31)),
        (date(2025, 1, 1), date(2025, 12, 30)),
        (date(2025, 1, 2), date(2025, 12, 31)),
        (date(2024, 1, 1), date(2025, 12, 31)),
        (date(2025, 12, 31), date(2025, 1, 1)),
    ],
)
def test_no_two_periods_can_be_subtracted_from_one_another(since: date | None, until: date | None) -> None:
    with pytest.raises(ValueError, match="one whole calendar year"):
        year_asked(since, until)


def test_every_age_and_distance_is_in_one_band() -> None:
    born = date(2000, 6, 15)
    ages = [
        age_band(born, born + timedelta(days=round(365.25 * each))) for each in (0, 4.9, 5.1, 11.9, 12.1, 17.9, 18.1)
    ]
    names = [name for _, name in AGES]
    assert ages == [names[0], names[0], names[1], names[1], names[2], names[2], names[3]]
    bands = [name for _, name in FAR_KM]
    assert [distance_band(km) for km in (0.0, 9.9, 10.0, 29.9, 30.0, 500.0)] == [
        bands[each] for each in (0, 0, 1, 1, 2, 2)
    ]
    assert distance_band(None) == UNKNOWN
