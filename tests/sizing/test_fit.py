"""The mathematics of fit, wear, shape and print, against closed forms."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.geometry.printing import Feature, Solid, fits_printer, passes, scale_that_passes, wall_is_too_thin
from service.sizing.model.fit import ACROSS, FIT_TOLERANCE_MM, ROUND, Place, choose, inside_at, judge, size_needed
from service.sizing.model.hand import looks_small_from_mm, printed_mm
from service.sizing.model.shape import likeness, verdict
from service.sizing.model.socks import sets_of_socks, thickness_mm
from service.sizing.model.wear import first_months, from_day_one, months_from, quantiles, share_beyond, until

SETS = sets_of_socks([1, 3, 5], 2, 2.0)
MONTHS = np.arange(37.0)


def test_the_largest_size_is_the_thickest_socks_and_the_tolerance_round_the_tightest_level() -> None:
    places = [Place(limb_mm=180, inside_mm=178), Place(limb_mm=168, inside_mm=166)]
    found = choose(places, SETS, 0.0)
    thickest = ROUND * thickness_mm([1, 3])
    assert found.across == pytest.approx(min((p.limb_mm + thickest + FIT_TOLERANCE_MM) / p.inside_mm for p in places))
    assert (found.plies, found.verdict) == ((1, 3), "fits")
    assert max(found.gaps_mm) == pytest.approx(FIT_TOLERANCE_MM)


def test_a_liner_takes_room_and_a_breadth_feels_a_layer_twice() -> None:
    breadth = Place(limb_mm=60, inside_mm=60, layer=ACROSS)
    assert choose([breadth], [()], 3.0).across == pytest.approx((60 + 2 * 3 + FIT_TOLERANCE_MM / pi) / 60)
    girth = Place(limb_mm=180, inside_mm=180)
    assert choose([girth], [()], 3.0).across == pytest.approx((180 + 2 * pi * 3 + FIT_TOLERANCE_MM) / 180)


limbs = st.lists(st.tuples(st.floats(100, 300), st.floats(0.97, 1.03)), min_size=1, max_size=5)


@given(limbs, st.floats(0, 4))
def test_what_is_chosen_fits_everywhere_and_nothing_larger_does(made: list[tuple[float, float]], liner: float) -> None:
    places = [Place(limb, limb * shape) for limb, shape in made]
    found = choose(places, SETS, liner)
    if found.verdict != "fits":
        assert all(gap >= -1e-9 for gap in found.gaps_mm)  # nothing presses
        assert all(judge(places, found.across * share, SETS, liner).verdict != "fits" for share in (0.98, 1, 1.02))
        return
    assert all(abs(gap) <= FIT_TOLERANCE_MM + 1e-6 for gap in found.gaps_mm)
    assert all(place.gap_mm(found.across, liner) >= -1e-6 for place in places)
    assert judge(places, found.across * 1.001, SETS, liner).verdict != "fits"


def test_no_more_is_chosen_than_the_wanted_months_need_but_never_what_does_not_fit() -> None:
    places = [Place(180, 180)]
    largest = choose(places, SETS, 0.0).across
    assert choose(places, SETS, 0.0, needed=1.03).across == pytest.approx(1.03)
    assert choose(places, SETS, 0.0, needed=0.5).across == pytest.approx(1.0)  # the bare limb goes in at the least
    assert choose(places, SETS, 0.0, needed=2.0).across == pytest.approx(largest)


@pytest.mark.parametrize(("across", "said"), [(0.99, "tight"), (1.0, "fits"), (1.05, "fits"), (1.2, "loose")])
def test_a_size_is_judged_by_what_presses_and_what_hangs(across: float, said: str) -> None:
    assert judge([Place(180, 180)], across, SETS, 0.0).verdict == said


def test_a_socket_that_is_right_at_one_level_only_is_uneven() -> None:
    assert choose([Place(180, 180), Place(160, 180)], SETS, 0.0).verdict == "uneven"


def test_the_inside_is_read_along_the_scaled_axis_and_not_beyond_it() -> None:
    profile = [(40.0, 180.0), (80.0, 160.0)]
    assert inside_at(profile, 60, 1.0) == pytest.approx(170)
    assert inside_at(profile, 60, 1.2) == pytest.approx(175)  # level 60 is the base's 50 now
    assert inside_at(profile, 85, 1.0) == pytest.approx(160)  # near enough to stand for it
    assert inside_at(profile, 95, 1.0) is None
    assert inside_at(profile, 25, 1.0) is None


def test_the_size_needed_is_the_limb_at_the_end_of_the_months_wanted() -> None:
    growth = np.linspace(0.5, 1.5, 101)[:, None] * MONTHS  # each future grows evenly, mm a month
    paths = 180 + growth
    needed = size_needed([first_months(MONTHS, paths, 10.5)], [Place(180, 178)], 1.0, 0.9)
    assert needed == pytest.approx((180 + 1.4 * 10.5 + 2 * pi) / 178)
    lasts = until(MONTHS, [paths], [needed * 178 - 2 * pi])
    assert share_beyond(lasts, 10.5) == pytest.approx(0.9, abs=0.011)


def test_months_are_counted_from_day_one_to_the_first_place_filled() -> None:
    years = MONTHS / 12
    slow, fast = 180 + MONTHS[None, :] * 1.0, 160 + MONTHS[None, :] * 2.0
    months = months_from(years, 1.5 / 12)
    slow_from, fast_from = (from_day_one(years, each, 1.5 / 12) for each in (slow, fast))
    assert slow_from[0, 0] == pytest.approx(181.5)
    lasts = until(months, [slow_from, fast_from], [190.0, 175.0])
    assert lasts[0] == pytest.approx(7.5 - 1.5)
    assert quantiles(until(months, [slow_from], [181.0])).p50 == 0.0  # outgrown on day one
    assert quantiles(until(months, [slow_from], [300.0])).p10 is None


@given(st.floats(150, 250), st.floats(1, 1.3))
def test_a_larger_size_never_lasts_shorter(limit: float, larger: float) -> None:
    paths = 170 + np.cumsum(np.random.default_rng(1).normal(0.8, 2, (50, 37)), axis=1)
    assert (until(MONTHS, [paths], [limit * larger]) >= until(MONTHS, [paths], [limit])).all()


def test_a_scaled_copy_keeps_its_shape_and_a_limb_that_tapered_does_not() -> None:
    inside = [190.0, 178.0, 166.0]
    copy = likeness([1.07 * each for each in inside], inside)
    assert copy is not None
    assert copy.spread == pytest.approx(0, abs=1e-12)
    assert copy.is_a_copy
    tapered = likeness([190.0, 178.0, 1.05 * 166], inside)
    assert tapered is not None
    assert (tapered.is_a_copy, tapered.smallest, tapered.largest) == (False, 0, 2)
    assert tapered.spread == pytest.approx(0.05)
    assert likeness([180.0], [178.0]) is None


@pytest.mark.parametrize(
    ("rescales", "fits", "asks", "said"),
    [(1, True, False, "rescale"), (None, True, False, "rescale"), (2, True, False, "recast"),
     (0, False, False, "recast"), (0, True, True, "recast")],
)  # fmt: skip
def test_a_new_shape_is_due_after_two_rescales_when_nothing_fits_and_when_a_clinician_asks(
    rescales: int | None, fits: bool, asks: bool, said: str
) -> None:
    copy = likeness([180.0, 168.0], [180.0, 168.0])
    assert verdict(copy, rescales, fits=fits, clinician_asks=asks) == said
    assert verdict(None, rescales, fits=fits, clinician_asks=asks) == ("cannot tell" if said == "rescale" else said)


def test_socks_are_offered_thinnest_first_and_within_both_bounds() -> None:
    assert SETS == [(), (1,), (3,), (1, 1), (5,), (1, 3)]
    assert sets_of_socks([3, 3, 1], 1, 10) == [(), (1,), (3,)]
    assert sets_of_socks([], 3, 10) == [()]
    assert thickness_mm([2]) == pytest.approx((thickness_mm([1]) + thickness_mm([3])) / 2)


@pytest.mark.parametrize(("across", "along"), [(0.8, 0.8), (1.1, 1.0), (1.0, 1.3)])
def test_the_plastic_of_a_box_is_exact_however_it_is_scaled(across: float, along: float) -> None:
    def by_hand(x: float, y: float, z: float) -> float:
        core = (x - 2.4) * (y - 2.4) * (z - 2.4)
        return x * y * z - core + 0.2 * core

    part = Solid(40 * 30 * 100, 2 * (40 * 30 + 40 * 100 + 30 * 100), (40, 30, 100))
    made = part.scaled(across, along).printed(1.2, 0.2).plastic_mm3
    assert made == pytest.approx(by_hand(40 * across, 30 * across, 100 * along))


def test_a_solid_part_grows_with_its_volume() -> None:
    part = Solid(1000, 600, (10, 10, 10))
    assert part.scaled(1.1, 1.2).printed(1.0, 1.0).plastic_mm3 == pytest.approx(1000 * 1.1**2 * 1.2)


def test_holes_walls_and_the_printer() -> None:
    bore = Feature("pin_bore", nominal_mm=3.2, holds_mm=3.0, clearance_mm=0.2)
    assert passes(bore, 1.0)
    assert not passes(bore, 0.99)
    assert passes(bore, scale_that_passes(bore))
    assert wall_is_too_thin(0.79, 0.4)
    assert not wall_is_too_thin(0.8, 0.4)
    assert fits_printer((100, 200, 150), (150, 100, 200))
    assert not fits_printer((101, 200, 150), (150, 100, 200))


def test_a_hand_is_the_sound_ones_size_and_the_wish() -> None:
    assert printed_mm(150, 0) == 150
    assert printed_mm(150, -10) == pytest.approx(135)
    assert looks_small_from_mm(100) > 100
