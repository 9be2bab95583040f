"""Figures of volunteers against figures from outside."""

from __future__ import annotations

import pytest

from service.accounts.rules import great_circle_km


# A quarter of a meridian of a sphere of 6371 km is pi/2 of its radius (closed form); Paris to London is commonly given
# as about 344 km (common practice).
def test_the_great_circle():
    assert great_circle_km((0, 0), (90, 0)) == pytest.approx(6371 * 3.141592653589793 / 2)
    assert great_circle_km((0, 179.5), (0, -179.5)) == pytest.approx(6371 * 3.141592653589793 / 180)
    assert great_circle_km((48.8566, 2.3522), (51.5074, -0.1278)) == pytest.approx(344, abs=1)
    assert great_circle_km((52, 4), (52, 4)) == 0
