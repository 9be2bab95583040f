"""Which evidence counts, for which part of the arm, and that a forecast's sentence claims no other."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.anthropometry import Dimension
from service.growth.model import explain, forecast
from service.growth.model.case import Case, Channel, Limit, SockReport
from service.growth.model.passages import passages
from tests.growth.test_model_forecast import GIRTH, SIX, days_ago, girl_of_nine

LENGTH = Channel(Dimension.RESIDUAL_LIMB_LENGTH, GIRTH.side)
WORN = SockReport(days_ago(10), (3,), "snug")


def test_a_residual_limb_above_the_elbow_grows_as_an_upper_arm_of_the_same_figures() -> None:
    limb = replace(girl_of_nine(*SIX), limb="upper_arm", sock_reports=(WORN,))
    channel = replace(GIRTH, dimension=Dimension.UPPER_ARM_GIRTH)
    arm = replace(girl_of_nine(*SIX, channel=channel), sock_reports=(WORN,))
    own, other = forecast(limb), forecast(arm)
    assert (own.p10, own.p50, own.p90, own.curve) == (other.p10, other.p50, other.p90, other.curve)
    assert own.curve != forecast(replace(limb, limb="forearm")).curve
    ahead, ahead_of_arm = passages(limb), passages(arm)
    assert ahead is not None
    assert ahead_of_arm is not None
    assert (ahead.due_days == ahead_of_arm.due_days).all()


def with_socks(*reports: SockReport, limit: Channel = GIRTH, tight_at: float = 189.0) -> Case:
    case = girl_of_nine(*SIX)
    return replace(case, sock_reports=reports, limits=(Limit(limit, tight_at),), fitted_on=days_ago(90))


@pytest.mark.parametrize(
    ("case", "counted"),
    [
        (with_socks(WORN), True),
        (with_socks(WORN, replace(WORN, on=days_ago(100))), True),
        (with_socks(replace(WORN, on=days_ago(100))), False),
        (with_socks(replace(WORN, plies=(5,) * 8), tight_at=80.0), False),
        (with_socks(WORN, limit=LENGTH), False),
    ],
    ids=["worn", "one of two", "before the fitting", "more than it holds", "no girth"],
)
def test_the_socks_are_said_to_speak_when_a_report_of_them_counted(case: Case, *, counted: bool) -> None:
    found = forecast(case)
    assert bool(found.from_socks) is counted
    assert ("socks worn" in explain(case, found)) is counted
    assert any("left out" in warning for warning in found.warnings) is (len(found.from_socks) < len(case.sock_reports))


def test_a_sock_report_is_a_size_of_the_girth_with_the_least_room() -> None:
    higher_up = Limit(replace(GIRTH, level_mm=120.0), 260.0)
    case = with_socks(WORN)
    (size,) = forecast(replace(case, limits=(*case.limits, higher_up))).from_socks
    assert (size.on, size.channel) == (WORN.on, GIRTH)
    assert case.limits[0].tight_at_mm - 10 < size.size < case.limits[0].tight_at_mm


def at_fitting(*sizes: float, tight_at: float = 190.0, channel: Channel = GIRTH, days: int | None = 7) -> Case:
    """A socket fitted so many days ago: on the day of the last reading, if there is one."""
    case = girl_of_nine(*sizes, tight_at=tight_at, channel=channel)
    return replace(case, fitted_on=None if days is None else days_ago(days))


def spread(case: Case, days: int = 0) -> float:
    """How far apart (mm) the curve's p10 and p90 are on a day."""
    point = next(point for point in forecast(case).curve if point.on == days_ago(days))
    return point.p90 - point.p10


def test_whoever_was_never_measured_is_as_big_as_the_socket_they_were_fitted_with() -> None:
    tight = {tight_at: forecast(at_fitting(tight_at=tight_at)) for tight_at in (160.0, 200.0)}
    for tight_at, found in tight.items():
        assert found.curve[0].on == days_ago(0)
        assert found.curve[0].p50 == pytest.approx(tight_at / 1.07, rel=0.03)
        assert "rest on age, sex and the size of what was fitted alone" in found.warnings[0]
    assert "the size of what was fitted and children" in explain(at_fitting(), forecast(at_fitting()))
    unknown = at_fitting(days=None)
    assert spread(at_fitting()) < 0.4 * spread(unknown)
    assert "rest on age and sex alone" in forecast(unknown).warnings[0]
    assert "the size of what was fitted" not in explain(unknown, forecast(unknown))


@pytest.mark.parametrize("channel", [GIRTH, replace(GIRTH, dimension=Dimension.HAND_LENGTH, level_mm=None)])
def test_a_fitting_counts_beside_one_reading_of_that_day(channel: Channel) -> None:
    fitted, unknown = (at_fitting(178.0, channel=channel, days=days) for days in (7, None))
    assert spread(fitted) < 0.93 * spread(unknown)
    # The reading says more than half a tape's error too much room: the limb is taken for a little smaller than read.
    assert forecast(at_fitting(186.0, channel=channel)).curve[0].p50 < 186.0


@pytest.mark.parametrize("room", [-0.08, 0.18, 0.3])
def test_a_socket_made_with_other_room_than_usual_says_nothing(room: float) -> None:
    tight_at = SIX[-1] * (1 + room)
    fitted, unknown = (forecast(at_fitting(*SIX, tight_at=tight_at, days=days)) for days in (7, None))
    assert fitted.already == unknown.already
    for own, other in ((fitted.p10, unknown.p10), (fitted.p50, unknown.p50)):
        assert (own is None) == (other is None)
        if own and other:
            assert abs((own - other).days) < 20
    assert fitted.warnings == unknown.warnings


def test_several_places_of_one_socket_say_no_more_of_its_room_than_one() -> None:
    one = at_fitting()
    more = replace(one, limits=tuple(Limit(replace(GIRTH, level_mm=60.0 + at), 190.0) for at in range(8)))
    assert spread(more) == pytest.approx(spread(one), rel=0.15)


@pytest.mark.parametrize("days", [-30, 6000], ids=["still to come", "before birth"])
def test_a_fitting_that_cannot_be_counts_for_nothing(days: int) -> None:
    assert forecast(at_fitting(178.0, days=days)).curve == forecast(at_fitting(178.0, days=None)).curve


def test_what_a_length_has_for_room_is_not_known() -> None:
    fitted, unknown = (at_fitting(120.0, tight_at=130.0, channel=LENGTH, days=days) for days in (7, None))
    assert forecast(fitted) == forecast(unknown)
