"""Devices' rules that a form or the API shows only in part."""

from __future__ import annotations

from datetime import date

import pytest

from service.anthropometry.dimensions import CATALOGUE, Dimension
from service.devices.plausibility import LimitJudge
from service.devices.rules import LIMIT_DIMENSIONS, Span, fitting_problem, limit_problem, read_socks
from service.measurements.rules import Person, Place
from service.recipients.rules import Sex, Side


@pytest.mark.parametrize(
    ("text", "plies"),
    [
        ("none", ()),
        ("", ()),
        ("3", (3,)),
        ("3+1", (3, 1)),
        (" 3 + 3, 1", (3, 3, 1)),
        ("5 and 1", (5, 1)),
        ("3&1", (3, 1)),
    ],
)
def test_socks_are_read_as_people_write_them(text: str, plies: tuple[int, ...]) -> None:
    assert read_socks(text) == plies


@pytest.mark.parametrize("text", ["thick", "3-ply", "33", "-3", "1.5", "³"])
def test_what_is_not_a_ply_is_not_guessed(text: str) -> None:
    with pytest.raises(ValueError, match="3 \\+ 1"):
        read_socks(text)


def test_every_limb_dimension_can_limit_a_socket_within_what_a_body_can_be() -> None:
    assert {Dimension.HEIGHT, Dimension.WEIGHT}.isdisjoint(LIMIT_DIMENSIONS)
    judge = LimitJudge(Person(date(2018, 5, 4), Sex.FEMALE, {}), date(2026, 3, 2), ())
    for dimension in LIMIT_DIMENSIONS:
        facts = CATALOGUE[dimension]
        level = 60.0 if facts.needs_level else None
        assert limit_problem(dimension, None, level, device_side=Side.LEFT, counted_from="the elbow") is None
        sizes = (facts.smallest, facts.largest, facts.smallest - 0.1, facts.largest + 0.1)
        found = [judge.impossible(Place(dimension, Side.LEFT, level), size) for size in sizes]
        assert [problem is None for problem in found] == [True, True, False, False]


def test_a_socket_may_follow_on_the_day_the_last_came_off() -> None:
    before = [Span(date(2025, 1, 1), date(2025, 6, 1))]
    assert fitting_problem(date(2025, 6, 1), before) is None
    assert fitting_problem(date(2025, 5, 31), before) is not None
