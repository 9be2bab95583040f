"""Geometry of smears, curves and run charts: everything lies where its value is, and nothing where nothing is told."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from service.figures import drawing
from service.figures.sheets import CurveView, PointView, RunView
from tests.figures.sheets import curve, rich

UNITS = ("share", "difference of shares", "ratio", "T points", "per year in place", "people")


def told(unit: str, chance: random.Random) -> tuple[float, float, float]:
    """A value between the ends of its interval, such as the unit can have."""
    ends = {"share": (0.0, 1.0), "difference of shares": (-1.0, 1.0), "ratio": (0.1, 9.0), "T points": (25.0, 75.0)}
    low, value, high = sorted(chance.uniform(*ends.get(unit, (0.0, 400.0))) for _ in range(3))
    return value, low, high


@pytest.mark.parametrize("unit", UNITS)
def test_a_ruler_holds_every_value_and_the_nearer_end_of_every_interval(unit: str) -> None:
    chance = random.Random(7)
    for _ in range(200):
        some = [told(unit, chance) for _ in range(chance.randint(1, 6))]
        scale = drawing.scale_of(unit, some)
        for value, low, high in some:
            smear = drawing.smear(scale, value, low, high)
            assert smear is not None
            assert smear.notch is not None
            assert 0 <= smear.notch <= 100
            assert smear.start < smear.dark == smear.notch == smear.light < smear.end
            assert smear.start >= -drawing.BEYOND
            assert smear.end <= 100 + drawing.BEYOND
        assert [each.at for each in scale.ticks] == sorted(each.at for each in scale.ticks)
        assert (scale.ticks[0].at, scale.ticks[-1].at) == (0, 100)


@pytest.mark.parametrize("unit", UNITS)
def test_ticks_lie_where_their_labels_say(unit: str) -> None:
    scale = drawing.scale_of(unit, [(0.31, 0.2, 0.45)])
    for tick in scale.ticks:
        said = tick.label.replace("\u2212", "-").replace("+", "")
        top, _, under = said.partition("/")
        value = float(top) / float(under or 1)
        value /= 100 if unit in {"share", "difference of shares"} else 1
        assert scale.at(value) == pytest.approx(tick.at, abs=0.3)


def test_where_there_is_no_difference_is_marked() -> None:
    for unit, same in (("ratio", 1.0), ("difference of shares", 0.0), ("T points", 50.0)):
        scale = drawing.scale_of(unit, [(same, same, same)])
        assert scale.at(same) == scale.origin == 50
    assert drawing.scale_of("share", []).origin is None


def test_a_ratio_and_its_inverse_are_as_far_from_one() -> None:
    scale = drawing.scale_of("ratio", [(3.0, 2.0, 5.0)])
    assert scale.high == 1 / scale.low == 8
    assert scale.at(3.0) - 50 == pytest.approx(50 - scale.at(1 / 3), abs=0.02)


def test_what_is_not_told_has_no_smear_and_what_is_half_told_no_notch() -> None:
    scale = drawing.scale_of("share", [])
    assert drawing.smear(scale, None, None, None) is None
    between = drawing.smear(scale, None, 0.2, 0.6)
    assert between == drawing.Smear(20, 20, 60, 60, None)
    alone = drawing.smear(scale, 0.4, None, None)
    assert alone == drawing.Smear(40, 40, 40, 40, 40)


def test_an_interval_without_an_end_runs_off_the_ruler() -> None:
    scale = drawing.scale_of("weeks", [(6.0, 4.0, None)])
    smear = drawing.smear(scale, 6.0, 4.0, None)
    assert smear is not None
    assert smear.end > 100
    assert smear.start == scale.at(4.0)


def test_one_wild_interval_does_not_flatten_the_others() -> None:
    scale = drawing.scale_of("per year in place", [(0.3, 0.2, 0.4), (0.5, 0.1, 900.0)])
    assert scale.high <= drawing.FAR * 0.5 * 2.5
    assert drawing.smear(scale, 0.5, 0.1, 900.0).end > 100  # type: ignore[union-attr]


def walked(path: tuple[tuple[float, float], ...]) -> None:
    """A line in steps goes along or down, never aslant and never up."""
    for (x, y), (to_x, to_y) in pairwise(path):
        assert (to_x == x) != (to_y == y)
        assert to_x >= x
        assert to_y >= y


def test_curves_go_in_steps_from_all_at_the_beginning() -> None:
    falling = curve("k", "everybody", "months", [(3, 0.9, 0.8, 0.95), (6, 0.9, 0.8, 0.95), (12, 0.5, 0.3, 0.7)])
    (line,) = drawing.plot([("Everybody", falling)], 24).lines
    (piece,) = line.pieces
    assert piece[0] == (0, 0)
    assert piece[-1] == (50, 50)
    walked(piece)
    (band,) = line.bands
    assert {y for _, y in band} == {0, 20, 5, 70, 30}
    assert line.path().startswith("M0 0L")
    assert line.band().endswith("Z")
    assert line.path(4, 2).endswith("200 100")


def test_a_curve_ends_where_it_is_told_no_more_and_begins_where_it_is_first_told() -> None:
    late = curve("k", "a", "months", [(3, None, None, None), (6, 0.8, None, None), (12, 0.6, None, None)])
    untold = curve("k", "b", "months", [(3, None, None, None)])
    (line,) = drawing.plot([("A", late), ("B", untold)], 12).lines
    assert [each[0] for each in line.pieces] == [(50, 20)]
    assert line.bands == ((),)
    assert line.band() == ""


def test_labels_at_lines_keep_apart_and_within_the_drawing() -> None:
    same = [(f"G{place}", curve("k", f"G{place}", "weeks", [(4, 0.02, 0.01, 0.05)])) for place in range(4)]
    heights = sorted(line.at[1] for line in drawing.plot(same, 4).lines)
    assert all(after - before >= drawing.LABELS_APART - 0.01 for before, after in pairwise(heights))
    assert heights[-1] <= 100
    assert [line.style for line in drawing.plot(same, 4).lines] == [0, 1, 2, 3]


def test_more_curves_than_styles_are_refused() -> None:
    many = [("G", CurveView(key="k", of="g", unit="weeks", n=None, points=[], method=""))] * 5
    with pytest.raises(ValueError, match="no more than 4"):
        drawing.plot(many, 4)


@pytest.mark.parametrize(("last", "unit"), [(1, "weeks"), (10, "weeks"), (52, "weeks"), (24, "months"), (999, "days")])
def test_an_axis_has_few_marks_each_at_its_number(last: int, unit: str) -> None:
    point = PointView(at=last, value=0.5, low=None, high=None, n=10)
    shown = drawing.plot([("A", CurveView(key="k", of="a", unit=unit, n=10, points=[point], method=""))], last).along
    assert 2 <= len(shown) <= 7
    assert all(each.at == pytest.approx(100 * int(each.label) / last, abs=0.01) for each in shown)


def runs() -> list[RunView]:
    return next(each.runs for each in rich().sections if each.runs)


def test_a_run_has_a_point_for_each_quarter_told_and_a_gap_for_the_others() -> None:
    drawn = drawing.run(runs()[0])
    assert len(drawn.points) == 15
    assert [len(each) for each in drawn.pieces] == [5, 10]
    assert drawn.low == 100  # nothing is fewer than none
    assert drawn.high is not None
    assert 0 <= drawn.high < drawn.mean < 100  # type: ignore[operator]
    assert [each.label for each in drawn.along if each.label] == ["2022", "2023", "2024", "2025"]
    assert drawn.path().count("M") == 2


def test_a_run_of_nothing_is_empty_and_one_of_zeros_lies_on_the_ground() -> None:
    assert drawing.run(runs()[1]).points == ()
    zeros = runs()[0].model_copy(
        update={"values": [0.0, 0.0], "quarters": ["2025 Q1", "2025 Q2"], "mean": 0.0, "high": 0.0}
    )
    assert {y for _, y in drawing.run(zeros).points} == {100}


def test_corners_are_the_data_of_a_path() -> None:
    assert drawing.corners([(0, 0), (50, 12.5)], 4, 2) == "M0 0L200 25"
    assert drawing.corners([(0, 0), (50, 12.5)], closed=True) == "M0 0L50 12.5Z"
    assert drawing.corners([]) == ""
