"""What the forecast says about cases a coordinator would recognise."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.anthropometry import CATALOGUE, Dimension, reference
from service.growth.model import explain, forecast
from service.growth.model.case import Case, Channel, Forecast, Limit, Reading, SockReport

TODAY = date(2026, 3, 12)
GIRTH = Channel(Dimension.RESIDUAL_LIMB_GIRTH, "left", 60.0)
HAND = Channel(Dimension.HAND_LENGTH, "left")


def days_ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def girl_of_nine(*sizes: float, tight_at: float = 190.0, every: int = 120, channel: Channel = GIRTH) -> Case:
    """Readings `every` so many days, the last one a week ago."""
    readings = [
        Reading(days_ago(7 + every * (len(sizes) - 1 - i)), channel, size, "tape") for i, size in enumerate(sizes)
    ]
    return Case(date(2016, 12, 1), "female", TODAY, tuple(readings), days_ago(500), (Limit(channel, tight_at),))


SIX = (170.0, 172.0, 174.5, 176.0, 178.5, 180.0)


def days_until(due: date | None) -> int:
    assert due is not None
    return (due - TODAY).days


def spread_on(found: Forecast, day: date) -> float:
    """How many millimetres lie between the curve's p10 and p90."""
    point = next(point for point in found.curve if point.on == day)
    return point.p90 - point.p10


def test_the_same_case_has_the_same_answer() -> None:
    assert forecast(girl_of_nine(*SIX)) == forecast(girl_of_nine(*SIX))


@pytest.mark.parametrize("channel", [GIRTH, HAND], ids=["girth", "hand"])
def test_a_larger_tight_at_is_never_due_earlier(channel: Channel) -> None:
    sizes = (170.0, 174.0, 178.0) if channel is GIRTH else (140.0, 142.0, 144.0)
    answers = [
        forecast(girl_of_nine(*sizes, tight_at=sizes[-1] * (0.94 + 0.02 * step), channel=channel)) for step in range(14)
    ]
    for quantile in ("p10", "p50", "p90"):
        dates = [getattr(found, quantile) or date.max for found in answers]
        assert dates == sorted(dates)
        assert dates[0] == TODAY
        assert dates[-1] > TODAY + timedelta(days=365)
    assert [found.already for found in answers] == sorted((found.already for found in answers), reverse=True)


def test_the_order_of_the_readings_and_their_repetition_do_not_matter() -> None:
    case = girl_of_nine(*SIX)
    shuffled = replace(case, readings=(*reversed(case.readings), case.readings[2]))
    assert forecast(shuffled) == forecast(case)


def test_a_reading_from_the_future_is_left_out_and_said_so() -> None:
    case = girl_of_nine(*SIX)
    later = replace(case, readings=(*case.readings, Reading(TODAY + timedelta(days=40), GIRTH, 199.0)))
    found = forecast(later)
    assert (found.p10, found.p50, found.p90) == (forecast(case).p10, forecast(case).p50, forecast(case).p90)
    assert any("after the day of the forecast" in warning for warning in found.warnings)


@pytest.mark.parametrize("which", range(5))
@pytest.mark.parametrize("factor", [0.85, 1.15])
def test_one_wild_reading_in_six_moves_the_median_by_less_than_a_month(which: int, factor: float) -> None:
    honest = days_until(forecast(girl_of_nine(*SIX)).p50)
    wild = forecast(girl_of_nine(*(size * (factor if i == which else 1.0) for i, size in enumerate(SIX))))
    assert abs(days_until(wild.p50) - honest) < 30
    assert any("does not fit the others" in warning for warning in wild.warnings)


@pytest.mark.parametrize("factor", [0.85, 1.15])
def test_a_wild_newest_reading_counts_no_more_than_if_it_had_not_been_taken(factor: float) -> None:
    case = girl_of_nine(*SIX)
    without = forecast(replace(case, readings=case.readings[:5]))
    wild = forecast(girl_of_nine(*SIX[:5], SIX[5] * factor))
    assert abs(days_until(wild.p50) - days_until(without.p50)) < 30


def test_a_limb_past_its_limit_is_already_tight_though_nobody_complained() -> None:
    found = forecast(girl_of_nine(184.0, 188.0, 192.0, tight_at=186.0))
    assert found.already > 0.95
    assert found.p50 == TODAY
    assert found.within[365] >= found.within[90] >= found.within[30] >= found.already


def test_only_a_report_of_a_good_fit_speaks_against_already_tight() -> None:
    silent = girl_of_nine(181.0, 184.0, tight_at=186.0)
    snug = replace(silent, sock_reports=(SockReport(days_ago(3), (3,), "snug"),))
    tight = replace(silent, sock_reports=(SockReport(days_ago(3), (), "tight"),))
    assert forecast(snug).already < forecast(silent).already < forecast(tight).already


def test_monthly_socks_stand_in_for_a_visit() -> None:
    stale = replace(girl_of_nine(172.0), as_of=TODAY + timedelta(days=300))
    fewer_and_fewer = [(5, 3)] * 4 + [(5, 1)] * 3 + [(3, 1)] * 2
    socks = tuple(
        SockReport(TODAY + timedelta(days=30 * month), plies, "snug") for month, plies in enumerate(fewer_and_fewer, 1)
    )
    informed = forecast(replace(stale, sock_reports=socks))
    assert spread_on(informed, stale.as_of) < 0.6 * spread_on(forecast(stale), stale.as_of)


def test_sock_reports_from_before_the_socket_are_left_out() -> None:
    case = girl_of_nine(*SIX)
    old = replace(case, sock_reports=(SockReport(days_ago(700), (), "tight"),))
    assert forecast(old).p50 == forecast(case).p50
    assert any("sock report was left out" in warning for warning in forecast(old).warnings)


def test_weight_sharpens_a_girth() -> None:
    case = girl_of_nine(176.0)
    stale = replace(case, as_of=TODAY + timedelta(days=365))
    on_scales = [Reading(TODAY + timedelta(days=90 * i), Channel(Dimension.WEIGHT), 28.0 + 0.8 * i) for i in range(5)]
    informed = forecast(replace(stale, readings=(*stale.readings, *on_scales)))
    assert spread_on(informed, stale.as_of) < 0.9 * spread_on(forecast(stale), stale.as_of)


def test_height_and_weight_say_nothing_about_a_hand() -> None:
    case = girl_of_nine(140.0, 143.0, tight_at=150.0, channel=HAND)
    tall = Reading(days_ago(7), Channel(Dimension.HEIGHT), 1480.0)
    assert forecast(replace(case, readings=(*case.readings, tall))) == forecast(case)


def test_the_earliest_of_several_limits_counts() -> None:
    case = girl_of_nine(*SIX)
    second = Limit(Channel(Dimension.RESIDUAL_LIMB_GIRTH, "left", 120.0), 160.0)
    narrow = tuple(replace(r, channel=second.channel, value=r.value * 0.87) for r in case.readings)
    measured = replace(case, readings=(*case.readings, *narrow))
    alone = forecast(replace(measured, limits=(second,)))
    both = forecast(replace(measured, limits=(*case.limits, second)))
    first = forecast(measured)
    assert days_until(both.p50) <= min(days_until(alone.p50), days_until(first.p50)) + 15
    assert both.limiting == second
    assert both.limiting_probability > 0.5


def test_the_other_limb_is_left_out() -> None:
    case = girl_of_nine(*SIX)
    other = Reading(days_ago(7), Channel(Dimension.RESIDUAL_LIMB_GIRTH, "right", 60.0), 240.0)
    found = forecast(replace(case, readings=(*case.readings, other)))
    assert found.p50 == forecast(case).p50
    assert any("of the other limb" in warning for warning in found.warnings)


def test_a_limit_without_a_side_is_of_the_limb_that_was_measured() -> None:
    case = girl_of_nine(*SIX)
    unsided = replace(case, limits=(Limit(replace(GIRTH, side=None), 190.0),))
    assert forecast(unsided).p50 == forecast(case).p50


def test_the_sound_hand_stands_in_for_the_other_less_exactly() -> None:
    case = girl_of_nine(140.0, 141.5, 143.0, tight_at=150.0, channel=HAND)
    right = tuple(replace(r, channel=replace(HAND, side="right")) for r in case.readings)
    found = forecast(replace(case, readings=right))
    assert abs(days_until(found.p50) - days_until(forecast(case).p50)) < 60
    assert spread_on(found, TODAY) > spread_on(forecast(case), TODAY)


def test_raising_one_of_several_limits_never_makes_the_socket_due_earlier() -> None:
    case = girl_of_nine(*SIX)
    answers = [
        forecast(replace(case, limits=(*case.limits, Limit(replace(GIRTH, level_mm=90.0), 170.0 + 5 * step))))
        for step in range(8)
    ]
    dates = [found.p50 or date.max for found in answers]
    assert dates == sorted(dates)
    assert dates[0] < dates[-1]


def test_a_girth_at_another_level_is_said_to_be_less_sure_and_is() -> None:
    case = girl_of_nine(*SIX)
    elsewhere = tuple(replace(r, channel=replace(GIRTH, level_mm=100.0)) for r in case.readings)
    found = forecast(replace(case, readings=elsewhere))
    assert any("measured at 100 mm" in warning for warning in found.warnings)
    assert found.p10 is not None
    assert found.p10 < (forecast(case).p10 or date.max)
    assert found.already > forecast(case).already


def test_without_readings_age_and_sex_are_all_there_is() -> None:
    found = forecast(replace(girl_of_nine(tight_at=300.0), readings=()))
    assert any("no reading of the residual limb girth" in warning for warning in found.warnings)
    assert found.p50 is None


def test_without_a_limit_there_is_growth_but_no_date() -> None:
    case = replace(girl_of_nine(*SIX), limits=())
    found = forecast(case)
    assert (found.p10, found.p50, found.p90, found.limiting) == (None, None, None, None)
    assert found.curve[-1].p50 > found.curve[0].p50
    assert any("no size at which it is tight" in warning for warning in found.warnings)


def test_an_unknown_sex_allows_for_both() -> None:
    boy, girl, either = (
        forecast(replace(girl_of_nine(*SIX[:2], tight_at=184.0), sex=sex)) for sex in ("male", "female", "unspecified")
    )
    ends = sorted([days_until(boy.p50), days_until(girl.p50)])
    assert ends[0] - 15 <= days_until(either.p50) <= ends[1] + 15
    assert any("sex is not given" in warning for warning in either.warnings)


@pytest.mark.parametrize("age", [18.5, 25, 40, 60, 90])
def test_an_adult_is_not_due_within_three_years(age: float) -> None:
    case = replace(girl_of_nine(*(230.0, 231.0, 230.0), tight_at=248.0), birth_date=days_ago(round(age * 365.25)))
    assert forecast(case).p50 is None
    assert forecast(case).already == 0.0


def test_a_short_residual_limb_hardly_lengthens() -> None:
    length = Channel(Dimension.RESIDUAL_LIMB_LENGTH, "left")
    limb = forecast(girl_of_nine(80.0, 80.5, tight_at=90.0, channel=length))
    sound = forecast(girl_of_nine(180.0, 182.0, tight_at=202.5, channel=Channel(Dimension.FOREARM_LENGTH, "left")))
    assert (limb.p50 or date.max) > (sound.p50 or date.max)


@pytest.mark.parametrize("dimension", [d for d in Dimension if CATALOGUE[d].needs_side])
@pytest.mark.parametrize("years", [0.05, 0.5, 1.5, 5, 13, 19, 35, 100])
def test_any_age_and_dimension_has_an_answer_in_order(years: float, dimension: Dimension) -> None:
    size = float(reference(dimension, "male").median(years))
    channel = Channel(dimension, "right")
    case = Case(
        birth_date=days_ago(round(years * 365.25)),
        sex="male",
        as_of=TODAY,
        readings=(Reading(TODAY, channel, size),),
        limits=(Limit(channel, size * 1.06),),
    )
    found = forecast(case)
    assert (found.p10 or date.max) <= (found.p50 or date.max) <= (found.p90 or date.max)
    assert all(0 < point.p10 <= point.p50 <= point.p90 for point in found.curve)
    assert explain(case, found)


def test_the_curve_runs_from_the_first_reading_to_three_years_ahead() -> None:
    case = girl_of_nine(*SIX)
    days = [point.on for point in forecast(case).curve]
    assert days[0] == case.readings[0].on
    assert TODAY in days
    assert days[-1] - TODAY == timedelta(days=1096)
    assert days == sorted(set(days))


def test_the_sentence_names_the_evidence_the_growth_and_the_time() -> None:
    case = girl_of_nine(*SIX)
    sentence = explain(case, forecast(case))
    assert sentence.startswith("Six readings say the residual limb girth grows about")
    assert "the socket's 190 mm most likely around" in sentence
    tight = girl_of_nine(184.0, 188.0, 192.0, tight_at=186.0)
    assert "already" in explain(tight, forecast(tight))
    grown = replace(case, birth_date=date(1980, 1, 1))
    assert "not likely to reach the socket's 190 mm within three years" in explain(grown, forecast(grown))


def test_a_printed_hand_is_outmatched_but_never_called_tight() -> None:
    growing = girl_of_nine(140.0, 141.5, 143.0, tight_at=150.0, channel=HAND)
    passed = girl_of_nine(150.0, 152.0, 154.0, tight_at=150.0, channel=HAND)
    assert "reaches the printed hand's 150 mm" in explain(growing, forecast(growing))
    assert "a larger printed hand would match better now" in explain(passed, forecast(passed))
    assert "tight" not in explain(passed, forecast(passed))
