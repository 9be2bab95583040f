"""What is true of designs and versions without asking a database."""

from __future__ import annotations

from math import pi

import pytest

from service.geometry.answers import Geometry, LevelGirth, SmallPart
from service.parts.at_scale import features_at, plastic, wall_at
from service.parts.rules import (
    CheckItem,
    Digit,
    PartKind,
    VersionState,
    change_problem,
    density_of,
    design_problem,
    limits_at,
    release_problem,
    usual_checks,
    withdraw_problem,
)
from service.parts.schemas import FixedFeature, PrintSettings

CONE = [LevelGirth(level_mm=20, girth_mm=200), LevelGirth(level_mm=100, girth_mm=160)]


def test_a_socket_is_tight_where_its_inside_comes_out_less_the_liner():
    assert limits_at(CONE, 1, 1, 0, [20, 60, 100]) == [(20, 200), (60, 180), (100, 160)]
    (only,) = limits_at(CONE, 1.05, 1, 2, [60])
    assert only == pytest.approx((60, 180 * 1.05 - 4 * pi))


def test_a_level_of_the_limb_lies_nearer_the_landmark_in_the_file_of_a_longer_print():
    ((_, tight_at),) = limits_at(CONE, 1, 1.25, 0, [75])
    assert tight_at == pytest.approx(180)  # 75 mm of the limb lie at 60 mm of the file


def test_levels_that_the_profile_does_not_reach_are_left_out():
    assert limits_at(CONE, 1, 1, 0, [19.9, 100.1]) == []
    (brim, end) = limits_at(CONE, 1, 1.1, 0, [22, 110, 110.5])
    assert [brim, end] == [pytest.approx((22, 200)), pytest.approx((110, 160))]
    assert limits_at(CONE, 1, 0.5, 0, [5, 60]) == []
    assert limits_at([], 1, 1, 0, [60]) == []
    assert limits_at(CONE[:1], 1, 1, 0, [20, 21]) == [(20, 200)]


def test_the_order_of_a_profile_does_not_matter():
    assert limits_at(CONE[::-1], 1.1, 1.1, 1, [50, 90]) == limits_at(CONE, 1.1, 1.1, 1, [50, 90])


@pytest.mark.parametrize(
    ("kind", "digit", "field"),
    [
        (PartKind.MOTOR, None, "kind"),
        (PartKind.BATTERY, None, "kind"),
        (PartKind.PALM, Digit.INDEX, "digit"),
        (PartKind.FINGER, Digit.THUMB, "digit"),
        (PartKind.THUMB, Digit.LITTLE, "digit"),
    ],
)
def test_a_design_that_cannot_be_is_refused(kind, digit, field):
    problem = design_problem(kind, digit)
    assert problem is not None
    assert problem.field == field


@pytest.mark.parametrize(
    ("kind", "digit"), [(PartKind.FINGER, None), (PartKind.FINGER, Digit.RING), (PartKind.THUMB, Digit.THUMB)]
)
def test_a_design_that_can_be_is_taken(kind, digit):
    assert design_problem(kind, digit) is None


def test_a_version_goes_from_draft_to_released_to_withdrawn():
    draft, released, withdrawn = VersionState
    assert change_problem(draft) is release_problem(draft, closed=True) is withdraw_problem(draft) is None
    assert withdraw_problem(released) is None
    for refused in (
        change_problem(released),
        change_problem(withdrawn),
        release_problem(draft, closed=False),
        release_problem(released, closed=True),
        release_problem(withdrawn, closed=True),
        withdraw_problem(withdrawn),
    ):
        assert refused


def test_every_print_is_looked_at_and_what_moves_more_closely():
    for kind in PartKind:
        checks = usual_checks(kind)
        assert len(set(checks)) == len(checks)
        assert CheckItem.SHARP_EDGES in checks
    assert CheckItem.CAPTIVE_PINS in usual_checks(PartKind.FINGER)
    assert CheckItem.EDGE_RADIUS in usual_checks(PartKind.SOCKET)


def test_each_feature_comes_out_at_the_scale_of_its_own_direction():
    across = FixedFeature(kind="pin_bore", nominal_mm=4, holds_mm=4)
    along = FixedFeature(kind="coupling", nominal_mm=20, axis="along")
    bore, coupling = features_at([across, along], 0.9, 1.1)
    assert (bore.comes_out_mm, bore.needed_mm, bore.passes) == (3.6, 4, False)
    assert "drill or ream it to 4.00 mm" in bore.sentence
    assert (coupling.comes_out_mm, coupling.needed_mm, coupling.passes) == (22, 20, True)


def test_a_wall_under_two_widths_of_the_nozzle_is_not_made_whole():
    assert wall_at(0.79, 0.4).whole is False
    assert wall_at(0.81, 0.4).whole is True
    assert "under two widths of the 0.6 mm nozzle" in wall_at(1.0, 0.6).sentence
    assert wall_at(None, 0.4).whole is None


BOX = Geometry(
    watertight=True,
    bodies=1,
    triangles=12,
    bounding_box_mm=(20, 30, 40),
    volume_mm3=24_000,
    area_mm2=5_200,
    thinnest_wall_mm=20,
    inside_profile=[],
    small_part=SmallPart(fits=False, sure=True, why="", fits_up_to_scale=0.5, not_from_scale=0.6),
    doubts=[],
)


def test_a_box_weighs_its_walls_and_the_share_of_the_rest_that_is_filled():
    wall, infill = 3 * 0.4, 0.25
    core = (20 - 2 * wall) * (30 - 2 * wall) * (40 - 2 * wall)
    printed = 24_000 - core + infill * core
    settings = PrintSettings(nozzle_mm=0.4, walls=3, infill=infill)
    petg, other = plastic(BOX, settings, ["PETG", "the blue one"])
    assert petg.mass_g == pytest.approx(printed * 1.27 / 1000, abs=0.05)
    assert other.mass_g == pytest.approx(printed * 1.24 / 1000, abs=0.05)
    assert [petg.assumed, other.assumed] == [False, True]
    assert plastic(BOX.model_copy(update={"volume_mm3": None}), settings, ["PETG"]) == []


@pytest.mark.parametrize(
    ("material", "density"),
    [("PETG", 1.27), ("TPU 95A", 1.21), ("PLA+", 1.24), ("pa12", 1.14), ("wood", None), ("", None)],
)
def test_a_material_is_known_by_its_first_word(material, density):
    assert density_of(material) == density
