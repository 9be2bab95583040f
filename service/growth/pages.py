"""HTML face of the forecasts' record."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access.work import Work
from service.growth import queries
from service.growth.recorded import FEWEST
from service.web.edge import reads
from service.web.render import render

router = APIRouter()


@router.get("/forecast-record")
@reads
def forecast_record(work: Work, request: Request) -> Response:
    """How well forecasts have done, by model version and over time."""
    return render(request, "growth/record.html", {"record": queries.forecast_record(work), "fewest": FEWEST})
