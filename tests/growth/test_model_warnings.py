"""What a forecast says a coordinator should look at: a reading at the limit, and one that is probably wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.growth.model import forecast
from service.growth.model.case import Reading
from tests.growth.test_model_forecast import GIRTH, HAND, SIX, days_ago, girl_of_nine


def test_a_reading_that_is_probably_wrong_is_named_and_asked_for_again() -> None:
    slipped = girl_of_nine(*SIX[:3], 202.4, *SIX[4:])
    assert forecast(slipped).warnings == (
        "The reading of 202.4 mm on 8 July 2025 does not fit the others and counts little: measure again.",
    )
    assert forecast(girl_of_nine(*SIX)).warnings == ()
    alone = forecast(girl_of_nine(99.0))
    assert "does not fit what is usual at this age and counts little: measure again." in alone.warnings[-1]


@pytest.mark.parametrize("newest", [182.3, 181.0])
def test_a_newest_reading_at_the_limit_is_a_reason_to_ask_today(newest: float) -> None:
    (warning,) = forecast(girl_of_nine(176.0, 178.0, newest, tight_at=181.0)).warnings
    assert warning == (
        f"The reading of {newest:g} mm on 5 March 2026 is at or over the 181 mm at which the socket is tight: "
        "ask how it fits now, and measure again."
    )


def test_an_older_reading_at_the_limit_or_one_elsewhere_is_no_reason_to_ask() -> None:
    older = girl_of_nine(178.0, 181.3, 180.2, tight_at=181.0)
    higher_up = Reading(days_ago(1), replace(GIRTH, level_mm=120.0), 190.0)
    assert forecast(older).warnings == ()
    for warning in forecast(replace(older, readings=(*older.readings, higher_up))).warnings:
        assert "ask how it fits now" not in warning


def test_a_hand_that_outgrew_the_printed_one_is_asked_about_but_not_called_tight() -> None:
    (warning,) = forecast(girl_of_nine(148.0, 149.0, 151.0, tight_at=150.0, channel=HAND)).warnings
    assert warning == (
        "The reading of 151 mm on 5 March 2026 is at or over the 150 mm at which the printed hand is outmatched: "
        "ask whether a larger one is wanted, and measure again."
    )
