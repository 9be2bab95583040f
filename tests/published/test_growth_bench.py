"""The forecast against children whose growth is known: it must beat what people do without one, by a wide margin.

`tests/benchmarks/cross_validate.py` shows the same for children the priors were not fitted to.
"""

from __future__ import annotations

import os

import pytest

from service.anthropometry import Dimension
from service.growth.model.priors import PRIORS
from tests.benchmarks.cases import KnownCase, load, mean, score

pytestmark = pytest.mark.skipif(
    "HANDSPAN_CHECK_DATA" not in os.environ,
    reason="needs the forecast cases: set HANDSPAN_CHECK_DATA to the folder of check data beside them",
)

GIRTH, HAND = Dimension.RESIDUAL_LIMB_GIRTH, Dimension.HAND_LENGTH


def of(name: str, dimension: Dimension, every: int = 3) -> list[KnownCase]:
    return [known for known in load(name) if known.dimension == dimension][::every]


@pytest.mark.parametrize(
    ("name", "dimension", "without_forecast"),
    [
        # Mean pinball loss, days, of a straight line through the child's own readings.
        ("dev_cases", GIRTH, 131),
        ("dev_cases", HAND, 105),
        ("dev_cases_stale", GIRTH, 154),
        ("dev_cases_socks", GIRTH, 154),
        ("dev_cases_body", GIRTH, 131),
    ],
)
def test_it_loses_less_than_half_of_what_a_straight_line_loses(
    name: str, dimension: Dimension, without_forecast: float
) -> None:
    found = mean(score(known, PRIORS) for known in of(name, dimension))
    assert found.pinball < without_forecast / 2
    assert 0.7 < found.cover80 < 0.95


@pytest.mark.parametrize(("dimension", "days"), [(GIRTH, 9), (HAND, 4)])
def test_a_limit_passed_unnoticed_is_noticed(dimension: Dimension, days: float) -> None:
    assert mean(score(known, PRIORS) for known in of("dev_cases_late", dimension)).pinball < days


def test_socks_and_weight_are_worth_having() -> None:
    stale, socks, tape, body = (
        mean(score(known, PRIORS) for known in of(name, GIRTH, every=1)).pinball
        for name in ("dev_cases_stale", "dev_cases_socks", "dev_cases", "dev_cases_body")
    )
    assert socks < stale - 5
    assert body < tape - 2
