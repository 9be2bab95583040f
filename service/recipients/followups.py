"""What flows up from a change to a case: jobs that higher rooms do, asked for by name in the same transaction."""

from __future__ import annotations

from service.access.work import Work
from service.kit.jobs import enqueue

FORECAST_REFRESH = "forecast.refresh"
"""Work out a recipient's forecasts again; the subject is the recipient."""


def ask_for_forecast(work: Work, recipient_id: int) -> None:
    """Something a forecast rests on has changed."""
    enqueue(
        work.session,
        FORECAST_REFRESH,
        now=work.now,
        key=f"{FORECAST_REFRESH}:{recipient_id}",
        subject_id=recipient_id,
        payload={"recipient_id": recipient_id},
    )
