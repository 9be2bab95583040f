"""Figures of volunteers against figures from outside."""

from __future__ import annotations

import pytest

from service.accounts.rules import great_circle_km
from service.volunteers.rules import wilson


# Wilson (1927) score interval, 95 per cent, computed with an independent implementation; from memory, to verify:
# 81/263 and 1/29 are the worked examples of Newcombe (1998), Statistics in Medicine 17, 857-872.
@pytest.mark.parametrize(
    ("successes", "trials", "lower", "upper"),
    [
        (7, 50, 0.069508, 0.261862),
        (0, 10, 0.0, 0.277533),
        (10, 10, 0.722467, 1.0),
        (81, 263, 0.2553, 0.3662),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_score_interval_of_a_share(successes, trials, lower, upper):
    within = 5e-7 if trials in {10, 50} else 5e-5
    assert wilson(successes, trials) == pytest.approx((lower, upper), abs=within)


def test_no_trial_says_nothing():
    assert wilson(0, 0) is None


# A quarter of a meridian of a sphere of 6371 km is pi/2 of its radius (closed form); Paris to London is commonly given
# as about 344 km (common practice).
def test_the_great_circle():
    assert great_circle_km((0, 0), (90, 0)) == pytest.approx(6371 * 3.141592653589793 / 2)
    assert great_circle_km((0, 179.5), (0, -179.5)) == pytest.approx(6371 * 3.141592653589793 / 180)
    assert great_circle_km((48.8566, 2.3522), (51.5074, -0.1278)) == pytest.approx(344, abs=1)
    assert great_circle_km((52, 4), (52, 4)) == 0
