"""The comparison of policies, on a child that grows evenly, where each policy's outcome can be counted by hand."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from service.anthropometry import Dimension
from service.growth.model.case import Channel
from tests.benchmarks.policies import (
    HURTS,
    LEAD,
    ROOM,
    YEAR,
    Child,
    Policy,
    Tally,
    by_age,
    foreseen,
    lived,
    never,
    rate,
    yearly,
)
from tests.benchmarks.policies_plot import drawn

GROWTH = 0.04  # of log size a year
LIVED = round(9 * YEAR)


def even(years_old: float = 8.0, growth: float = GROWTH, name: str = "even") -> Child:
    """A child that grows evenly; its name decides its luck."""
    sizes = np.log(175.0) + growth * np.arange(LIVED) / YEAR
    return Child(name, "female", Channel(Dimension.RESIDUAL_LIMB_GIRTH), round(years_old * YEAR), sizes)


def several(policy: Policy, **more: float) -> Tally:
    """What became of eight children alike but for their luck."""
    each = [lived(even(name=f"child {i}"), policy, **more) for i in range(8)]
    return Tally(*(sum(getattr(t, name) for t in each) for name in ("years", "tight_days", "sockets", "readings")))


def test_whoever_waits_is_tight_until_it_hurts_and_then_until_the_next_one_comes() -> None:
    found = several(never)
    each = found.tight_days / found.sockets
    assert each == pytest.approx(YEAR * HURTS / GROWTH + LEAD.median, rel=0.15)
    lasts = YEAR * (np.log1p(ROOM) + HURTS) / GROWTH
    assert found.sockets == pytest.approx(8 * LIVED / lasts, rel=0.2)


def test_without_a_margin_waiting_costs_the_lead_time_alone() -> None:
    found = several(never, hurts=0.0)
    assert found.tight_days / found.sockets == pytest.approx(LEAD.median, rel=0.15)


def test_every_twelve_months_is_a_socket_a_year_and_never_tight_at_this_growth() -> None:
    found = lived(even(), yearly)
    assert found.sockets == pytest.approx(9, abs=1)
    assert found.tight_days == 0


def test_the_rule_by_age_lengthens_at_twelve() -> None:
    assert lived(even(2.0, growth=0.0), by_age).sockets > lived(even(12.0, growth=0.0), by_age).sockets


def test_the_forecast_starts_before_it_is_tight_and_not_every_year() -> None:
    found = several(partial(foreseen, risk=0.1, asking=True))
    assert found.tight_days < several(never).tight_days / 10
    assert found.sockets < several(yearly).sockets * 0.8


def test_a_rate_is_events_a_child_year_with_children_as_the_sample() -> None:
    tallies = [lived(even(), never), lived(even(growth=0.06), never)]
    each, half = rate(tallies, "sockets")
    assert each == pytest.approx(sum(t.sockets for t in tallies) / sum(t.years for t in tallies))
    assert half > 0


def test_the_plot_names_every_policy() -> None:
    points = {"wait & see": (0.3, 44.5), "this": (0.5, 2.4)}
    said = drawn({"girth": points})
    assert "1 wait &amp; see" in said
    assert "2 this" in said
