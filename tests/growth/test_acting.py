"""When to act, against closed forms, numerical integration, another fitter, and the forecast made again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import exp, log, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import CensoredData, lognorm, norm

from service.anthropometry import Dimension
from service.growth.acting import WORTH_ASKING, _Decision, _heard, plan, start_by
from service.growth.lead import ENOUGH, Lead, learned
from service.growth.model.case import Case, Channel, Limit, Reading
from service.growth.model.forecast import forecast
from service.growth.model.passages import Passages, passages

PROMPT = Lead(28.0, 1e-6)
GIRTH = Channel(Dimension.RESIDUAL_LIMB_GIRTH, "left", 60.0)
TODAY = date(2026, 3, 12)
GIRL = Case(
    date(2016, 12, 1),
    "female",
    TODAY,
    tuple(
        Reading(TODAY - timedelta(days=d), GIRTH, mm, "tape") for d, mm in ((420, 164.0), (290, 166.0), (200, 168.0))
    ),
    limits=(Limit(GIRTH, 182.0),),
)
EVEN = norm.ppf((np.arange(500) + 0.5) / 500)  # a normal as five hundred equally likely values


def linear(*, per_sd: float, error: float, mean: float = 400.0, sd: float = 100.0) -> Passages:
    """A due day that is normal, and a size that tells of it: `per_sd` of log size for one SD of earlier."""
    sizes = np.repeat((5.0 - per_sd * EVEN)[:, None], 37, axis=1)
    return Passages(mean + sd * EVEN, GIRL.limits[0], np.linspace(0, 1096, 37), sizes, error)


@pytest.mark.parametrize("risk", [0.02, 0.1, 0.5])
def test_with_a_lead_time_that_is_sure_making_starts_so_long_before_the_quantile(risk: float) -> None:
    expected = 400 + 100 * norm.ppf(risk) - 28
    assert start_by(400 + 100 * EVEN, PROMPT, risk) == pytest.approx(expected, abs=1.5)


@pytest.mark.parametrize(("spread", "sd"), [(9.0, 100.0), (40.0, 30.0)])
def test_an_unsure_lead_time_is_integrated_over(spread: float, sd: float) -> None:
    lead = Lead.of(60.0, spread)
    arrives = lognorm(lead.log_sd, scale=lead.median)

    def late(start: float) -> float:
        return float(quad(lambda days: norm.cdf((start + days - 400) / sd) * arrives.pdf(days), 0, 600, limit=200)[0])

    expected = brentq(lambda start: late(start) - 0.1, 0, 400)
    assert start_by(400 + sd * EVEN, lead, 0.1) == pytest.approx(expected, abs=4)


def test_a_lead_time_has_the_median_and_the_standard_deviation_it_was_given() -> None:
    lead = Lead.of(28.0, 9.0)
    as_scipy = lognorm(lead.log_sd, scale=lead.median)
    assert as_scipy.median() == pytest.approx(28.0)
    assert as_scipy.std() == pytest.approx(9.0)
    assert lead.quantile(0.9) == pytest.approx(as_scipy.ppf(0.9))


def test_what_is_seldom_reached_within_three_years_has_no_start_and_no_reading() -> None:
    paths = linear(per_sd=0.03, error=0.01)
    rare = replace(paths, due_days=np.where(norm.ppf(0.09) > EVEN, 500.0, np.inf))
    found = plan(rare, PROMPT, 0.1)
    assert (found.start_by, found.reading) == (None, None)


def test_a_socket_that_may_be_tight_already_should_have_been_started_and_no_reading_is_waited_for() -> None:
    found = plan(replace(linear(per_sd=0.03, error=0.01), due_days=np.zeros(500)), PROMPT, 0.1)
    assert found.start_by is not None
    assert found.start_by <= -28
    assert found.reading is None


@pytest.mark.parametrize("risk", [0.0, 1.0, float("nan")])
def test_a_risk_is_a_chance(risk: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        start_by(np.zeros(500), PROMPT, risk)


@pytest.mark.parametrize("risk", [0.05, 0.1, 0.3])
def test_the_expected_loss_is_the_quantile_loss_of_a_normal(risk: float) -> None:
    found = plan(linear(per_sd=0.03, error=0.01), PROMPT, risk)
    assert found.loss == pytest.approx(100 * norm.pdf(norm.ppf(risk)), rel=0.01)


@pytest.mark.parametrize("error", [0.005, 0.01, 0.03])
def test_a_reading_cuts_the_loss_as_gaussian_algebra_says(error: float) -> None:
    per_sd, risk = 0.03, 0.1
    paths = linear(per_sd=per_sd, error=error)
    chance, weights = _heard(paths.log_size[:, 0], error)
    left = chance @ _Decision(paths.due_days, PROMPT, risk).loss(weights, -1000.0)
    posterior_sd = 100 / sqrt(1 + (per_sd / error) ** 2)
    assert left == pytest.approx(posterior_sd * norm.pdf(norm.ppf(risk)), rel=0.02)


def test_what_readings_may_say_averages_to_what_is_known_already() -> None:
    chance, weights = _heard(5 + 0.04 * EVEN, 0.01)
    assert chance.sum() == pytest.approx(1)
    assert chance @ weights == pytest.approx(np.full(500, 1 / 500), rel=1e-6)


def test_a_reading_that_tells_nothing_is_not_asked_for() -> None:
    assert plan(linear(per_sd=0.0001, error=0.02), PROMPT, 0.1).reading is None


def test_a_reading_is_asked_for_before_the_start_and_never_makes_matters_worse() -> None:
    found = plan(linear(per_sd=0.03, error=0.01), PROMPT, 0.1)
    assert found.reading is not None
    assert found.start_by is not None
    assert 0 <= found.reading.day <= found.start_by
    assert found.cut > WORTH_ASKING


def test_the_expected_loss_after_a_reading_is_that_of_the_forecasts_it_leads_to() -> None:
    """Readings are drawn from the model's own paths, the forecast is made again with each, and the losses averaged."""
    paths, lead = passages(GIRL), Lead.of(28.0)
    assert paths is not None
    found = plan(paths, lead, 0.1)
    assert found.reading is not None
    chance, weights = _heard(paths.log_size[:, 0], paths.tape)
    expected = float(chance @ _Decision(paths.due_days, lead, 0.1).loss(weights, 0.0))
    generator = np.random.default_rng(7)
    losses = []
    for path in range(0, 500, 8):
        size = exp(paths.log_size[path, 0] + paths.tape * generator.standard_normal())
        again = passages(replace(GIRL, readings=(*GIRL.readings, Reading(TODAY, GIRTH, size, "tape"))))
        assert again is not None
        losses.append(float(_Decision(again.due_days, lead, 0.1).loss(np.ones((1, 500)), 0.0)[0]))
    assert np.mean(losses) == pytest.approx(expected, rel=0.1)
    assert np.mean(losses) < 0.9 * found.loss


def test_the_paths_are_those_the_forecast_is_read_off() -> None:
    paths, said = passages(GIRL), forecast(GIRL)
    assert paths is not None
    assert said.p50 is not None
    median = np.sort(paths.due_days)[250]
    assert said.p50 == TODAY + timedelta(days=round(median))
    assert float(np.mean(paths.due_days <= 365)) == said.within[365]
    assert passages(replace(GIRL, limits=())) is None


@pytest.mark.parametrize("waiting", [0, 3, 12])
def test_a_lead_time_is_learned_as_another_fitter_learns_it(waiting: int) -> None:
    times = Lead(40.0, 0.4)
    days = [times.quantile(p) for p in (np.arange(30) + 0.5) / 30]
    finished, censored = days[waiting:], [0.7 * each for each in days[:waiting]]
    found = learned([*((x, False) for x in finished), *((x, True) for x in censored)], otherwise=Lead.of(28.0))
    shape, _, scale = lognorm.fit(CensoredData(finished, right=censored), floc=0)
    assert found.median == pytest.approx(scale, rel=0.002)
    assert found.log_sd == pytest.approx(shape, rel=0.005)
    assert found.learned_from == 30


def test_requests_still_waiting_make_the_lead_time_longer_never_shorter() -> None:
    finished = [(20.0 + i, False) for i in range(ENOUGH)]
    waiting = [(35.0, True)] * 6
    otherwise = Lead.of(28.0)
    assert learned([*finished, *waiting], otherwise).median > learned(finished, otherwise).median + 2


def test_few_finished_requests_do_not_replace_the_sites_estimate() -> None:
    otherwise = Lead.of(28.0)
    few = [(90.0, False)] * (ENOUGH - 1) + [(90.0, True)] * 50
    assert learned(few, otherwise) is otherwise
    assert learned([*few, (90.0, False)], otherwise).median > 80


def test_equal_times_still_leave_some_doubt() -> None:
    found = learned([(30.0, False)] * ENOUGH, otherwise=Lead.of(28.0))
    assert found.median == pytest.approx(30.0)
    assert log(found.quantile(0.9) / found.median) > 0.05
