"""What flows up from a change to a site: a job that a higher room does, asked for in the same transaction."""

from __future__ import annotations

from service.access.work import Work
from service.kit.jobs import enqueue

FORECAST_DAILY = "forecast.daily"
"""Have everybody's forecasts worked out again; asked for once a day too, because a forecast ages."""


def ask_for_every_forecast(work: Work) -> None:
    """Something that every forecast of a site rests on has changed."""
    enqueue(work.session, FORECAST_DAILY, now=work.now, key=FORECAST_DAILY)
