"""What the gate holds things against, compared with what was published.

Marks: [source] published; [practice] common practice of the trade; [memory] recalled, to verify.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from service.gate.blocks import SMALL_CHILD_MONTHS
from service.gate.checklists import LIMITS, WEAR_IN_DAYS, due_days
from service.gate.gathering import months_between
from service.handovers.rules import CAUTIONS, WEAR_IN, skin_problem
from service.parts.at_scale import features_at, wall_at
from service.parts.schemas import FixedFeature
from service.safety.rules import Clock, SkinLimits, report_by
from tests.conftest import START


def test_a_line_is_pulled_as_hard_as_the_hardest_found_in_use():
    """Cable forces of 33 to 131 N, Hichert 2017 [source]."""
    limit = LIMITS["line_pull"]
    assert (limit.value, limit.unit, limit.at_least) == (131, "N", True)
    assert "Hichert 2017" in limit.source
    assert not limit.holds(130.9)
    assert limit.holds(131)


def test_a_surface_stays_below_that_of_an_applied_part():
    """41 °C, IEC 60601-1, edition 2, as its decision sheet gives it [source]."""
    limit = LIMITS["heat"]
    assert (limit.value, limit.unit, limit.at_least) == (41, "°C", False)
    assert not limit.holds(41.5)


def test_a_limit_without_a_source_says_so():
    """No published radius of edges was found [practice]."""
    assert "common practice" in LIMITS["edge_radius"].source


@pytest.mark.parametrize(
    ("born", "day", "small"),
    [
        (date(2023, 3, 3), date(2026, 3, 2), True),
        (date(2023, 3, 2), date(2026, 3, 2), False),
        (date(2024, 2, 29), date(2027, 2, 28), True),
        (date(2024, 2, 29), date(2027, 3, 1), False),
    ],
)
def test_small_parts_are_kept_from_children_under_36_months(born, day, small):
    """16 CFR 1501.2: toys intended for children under three years [source]; borrowed, a device is no toy."""
    assert SMALL_CHILD_MONTHS == 36
    assert (months_between(born, day) < SMALL_CHILD_MONTHS) is small


def test_a_three_millimetre_hole_at_eight_tenths_needs_drilling():
    """A 3.0 mm hole at 0.8 comes out at 2.4 mm: lengths and holes scale, bought hardware does not [computed]."""
    (found,) = features_at([FixedFeature(kind="pin_bore", nominal_mm=3.0)], 0.8, 0.8)
    assert found.comes_out_mm == pytest.approx(2.4)
    assert not found.passes


def test_a_wall_under_two_nozzles_is_out_of_limits():
    """Walls under two nozzle widths: warn [practice]."""
    assert wall_at(0.79, 0.4).whole is False
    assert wall_at(0.8, 0.4).whole is True


def test_the_first_days_follow_the_gentlest_plan():
    """Day 1 once 30 min; day 2 3 x 30; day 3 3 x 45; day 4 3 x 60; then on by half-hours [practice]."""
    assert "30 minutes, once" in WEAR_IN[0]
    assert "30 minutes, three times" in WEAR_IN[1]
    assert "45 minutes, three times" in WEAR_IN[2]
    assert "hour, three times" in WEAR_IN[3]
    assert "half an hour more" in WEAR_IN[4]
    assert WEAR_IN_DAYS == 7


def test_somebody_asks_after_a_week_two_weeks_three_and_six_months():
    """Days 1 to 7, 2 weeks, 3 and 6 months [practice]."""
    days = dict(due_days(date(2026, 3, 2)))
    assert days["wear_in"] == date(2026, 3, 9)
    assert days["two_weeks"] == date(2026, 3, 16)
    assert abs((days["three_months"] - date(2026, 6, 2)).days) <= 1
    assert abs((days["six_months"] - date(2026, 9, 2)).days) <= 2


@pytest.mark.parametrize(("minutes", "early"), [(0, True), (19, True), (20, False), (45, False)])
def test_redness_is_judged_after_twenty_minutes(minutes, early):
    """Redness gone within 20 minutes: fine [practice, clinic leaflets]."""
    usual = SkinLimits().fades_minutes
    look_at = START - timedelta(minutes=minutes) + timedelta(minutes=usual)
    assert (skin_problem(None, look_at, START, usual) is not None) is early
    assert (skin_problem(minutes, None, START, usual) is not None) is early


def test_plastic_is_kept_below_fifty_degrees():
    """PLA not above 50 °C in use; its glass transition is 59.1 °C [source: datasheets; practice]."""
    heat = dict(CAUTIONS)["heat"]
    assert "50 °C" in heat


@pytest.mark.parametrize(
    ("clock", "days"), [(Clock.PUBLIC_THREAT, 2), (Clock.DEATH_OR_DETERIORATION, 10), (Clock.OTHER_SERIOUS, 15)]
)
def test_the_clock_of_what_is_serious_runs_from_when_it_was_known(clock, days):
    """2, 10 and 15 days: SI 2024/1368 for Great Britain, EU MDR Article 87 [source]."""
    assert report_by(clock, date(2026, 3, 2)) == date(2026, 3, 2) + timedelta(days=days)
