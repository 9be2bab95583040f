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
