"""What a version's file says of the next socket, without a database."""

from __future__ import annotations

from datetime import date
from math import pi
from typing import Any

import pytest

from service.devices.schemas import LimitView
from service.parts.answers import VersionFacts
from service.recipients.rules import Side
from service.sizing.basing import (
    WornPrint,
    base_of,
    distinct_scales,
    inside_profile,
    liner_worn,
    other_sizes,
    printing_of,
    rescaled,
)
from service.sizing.schemas import MOST_PROFILE_LEVELS, LastPrint
from tests.assembly.things import figures
from tests.sizing.files import FEATURES, SETTINGS, cone, inside


def facts(**changes: Any) -> VersionFacts:
    """A cone socket of shape 1 with a liner of 1 mm."""
    given: dict[str, Any] = {
        "id": 7,
        "name": "left socket",
        "design": None,
        "design_name": "",
        "shape": 1,
        "recipient": 1,
        "kind": "socket",
        "digit": None,
        "side": "left",
        "interface": "",
        "number": 1,
        "state": "released",
        "materials": ["PETG"],
        "print_settings": SETTINGS,
        "features": FEATURES,
        "checks": [],
        "axis": {},
        "inside": {"dimension": "residual_limb_girth", "liner_mm": 1.0},
        "geometry": {**figures(cone()), "bounding_box_mm": [66.0, 64.0, 130.0]},
        "successor": None,
    }
    return VersionFacts.model_validate({**given, **changes})


def limit(dimension: str, tight_at: float, level: float | None = None) -> LimitView:
    given: dict[str, Any] = {
        "dimension": dimension,
        "side": "left",
        "level_mm": level,
        "tight_at_mm": tight_at,
        "doubts": [],
    }
    return LimitView.model_validate(given)


LAST = LastPrint(scale_across=1.05, scale_along=1.1)


def girth_limits(liner: float, *levels: float) -> list[LimitView]:
    """Limits as they are worked out when a print of the cone at the last scales is recorded."""
    return [
        limit("residual_limb_girth", round(1.05 * inside(level / 1.1) - 2 * pi * liner, 1), level) for level in levels
    ]


def test_the_liner_is_what_is_missing_between_the_inside_and_the_limits() -> None:
    assert liner_worn(facts(), girth_limits(3.0, 30, 60, 90), LAST) == 3.0
    assert liner_worn(facts(), girth_limits(1.1, 30, 60, 90), LAST) == 1.0  # within what a limit can tell: the file's
    assert liner_worn(facts(), girth_limits(0.0, 30, 60), LAST) == 0.0


@pytest.mark.parametrize(
    "limits",
    [
        [],
        [limit("residual_limb_length", 120.0)],
        girth_limits(3.0, 400),  # beyond the file
        [*girth_limits(3.0, 30), *girth_limits(5.0, 60)],  # no one liner
        girth_limits(-2.0, 30, 60),  # somebody typed larger sizes
    ],
)
def test_limits_that_tell_of_no_liner_leave_the_files_own(limits: list[LimitView]) -> None:
    assert liner_worn(facts(), limits, LAST) == 1.0


def test_sizes_that_are_no_girth_are_scaled_back_to_the_file() -> None:
    limits = [limit("residual_limb_length", 121.0), limit("epicondylar_breadth", 50.0), *girth_limits(1, 30)]
    found = {each.dimension.value: each.size_mm for each in other_sizes(limits, LAST, 1.0)}
    assert found == pytest.approx({"residual_limb_length": 122 / 1.1, "epicondylar_breadth": 52 / 1.05})


def test_a_very_fine_profile_is_thinned_evenly_and_keeps_its_ends() -> None:
    fine = [(level / 10, inside(level / 10)) for level in range(1201)]
    found = inside_profile(facts(geometry=figures(fine)))
    assert 200 < len(found) <= MOST_PROFILE_LEVELS
    assert (found[0].level_mm, found[-1].level_mm) == (0.0, 120.0)
    assert all(each.girth_mm == inside(each.level_mm) for each in found)
    assert base_of(facts(geometry=figures(fine)), Side.LEFT).inside_profile == found


def test_an_inside_that_is_not_known_is_empty() -> None:
    assert inside_profile(facts(inside=None)) == []
    assert inside_profile(facts(inside={"dimension": "hand_length"})) == []


@pytest.mark.parametrize(
    ("direction", "box"),
    [((0, 0, 1), (66, 64, 130)), ((0, -2, 0), (66, 130, 64)), ((1, 0.2, 0), (64, 130, 66))],
)
def test_the_box_has_its_edge_along_the_axis_last(direction: tuple[float, ...], box: tuple[float, ...]) -> None:
    solid = base_of(facts(axis={"direction": direction}), Side.LEFT).solid
    assert solid is not None
    assert solid.box_mm == box


def test_features_walls_and_settings_are_the_files() -> None:
    base = base_of(facts(), Side.LEFT)
    assert [(each.kind, each.nominal_mm, each.axis) for each in base.fixed_features] == [
        ("pin_bore", 3.0, "across"),
        ("coupling", 20.0, "along"),
    ]
    assert base.wall_mm == 2.0
    how = printing_of(facts(), "", None)
    assert (how.nozzle_mm, how.infill, how.density) == (0.4, 0.2, 1.27)
    assert how.wall_mm == pytest.approx(1.2)
    assert printing_of(facts(), "TPU 95A", None).density == 1.21
    many = {**SETTINGS, "walls": 50, "nozzle_mm": 5.0}
    assert printing_of(facts(print_settings=many), "", None).wall_mm == 20.0


def test_rescales_are_counted_by_scale_of_the_same_shape_on_the_same_limb() -> None:
    def worn(socket: int, across: float, on: date, shape: int = 1, side: Side = Side.LEFT) -> WornPrint:
        return WornPrint(socket, side, on, facts(shape=shape), across, 1.0, "PETG")

    now = worn(9, 1.1, date(2026, 1, 12))
    others = [
        worn(1, 1.0, date(2024, 1, 1)),
        worn(2, 1.00001, date(2024, 6, 1)),
        worn(3, 1.05, date(2025, 1, 1)),
        worn(4, 1.1, date(2025, 6, 1)),
        worn(5, 0.9, date(2025, 7, 1), shape=2),
        worn(6, 0.8, date(2025, 7, 1), side=Side.RIGHT),
        worn(10, 1.2, date(2026, 2, 1)),
    ]
    before = [each for each in others if each.is_before(now)]
    assert [each.socket for each in before] == [1, 2, 3, 4]
    assert rescaled(before, now) == 2
    assert distinct_scales([*before, now]) == 3
