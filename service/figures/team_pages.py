"""HTML face of what only those see who see the cases: spare parts to send or to keep, and a site's exact figures."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.figures import actions, queries
from service.figures.definitions import DEFINITIONS
from service.figures.schemas import SpareKit
from service.web.edge import reads, writes
from service.web.render import render

router = APIRouter(prefix="/outcomes")

MONTHS = (3, 6, 12)
LEVELS = (0.9, 0.95, 0.99)


@router.get("/spares")
@reads
def spares(work: Work, request: Request, asked: Annotated[SpareKit, Query()]) -> Response:
    """How many of which part to send along with a device, or to keep at each site."""
    found = queries.spares(work, asked)
    return render(request, "figures/spares.html", {"spares": found, "months": MONTHS, "levels": LEVELS})


@router.get("/exact")
@writes
def exact(work: Work, request: Request) -> Response:
    """The exact figures of one's own sites; that somebody looked is on record."""
    return render(request, "figures/exact.html", {"sheet": actions.exact_figures(work), "definitions": DEFINITIONS})
