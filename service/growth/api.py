"""REST face of forecasts."""

from __future__ import annotations

from fastapi import APIRouter

from service.access.work import Work
from service.growth import actions, queries
from service.growth.recorded import ForecastRecord
from service.growth.start_dates import AskStartDate, StartDate
from service.growth.stored import AskForecasts, ForecastAnswers, StoredForecast
from service.kit.paging import Page
from service.web.edge import reads

router = APIRouter(tags=["forecasts"])


@router.get("/recipients/{case_number}/forecasts")
@reads
def forecasts(work: Work, case_number: str) -> Page[StoredForecast]:
    """When each socket in place of a device in use will be outgrown; `state` says whether that is up to date."""
    return Page(items=queries.forecasts(work, case_number))


@router.get("/forecast-record")
@reads
def forecast_record(work: Work) -> ForecastRecord:
    """How well forecasts have done at your sites: numbers only, small ones hidden."""
    return queries.forecast_record(work)


@router.post("/forecasts")
@reads
def ask(work: Work, command: AskForecasts) -> ForecastAnswers:
    """Forecast from figures you send, without a case; nothing is stored."""
    return actions.ask(work, command)


@router.post("/start-dates")
@reads
def ask_start_date(work: Work, command: AskStartDate) -> StartDate:
    """By when to start the next socket, and to measure before, from figures you send; nothing is stored."""
    return actions.ask_start_date(work, command)
