"""HTML face of the next size."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.anthropometry import CATALOGUE
from service.recipients.queries import seen_recipient
from service.sizing import queries
from service.sizing.drawing import upright
from service.sizing.schemas import SizeWish
from service.web.edge import reads
from service.web.render import render

router = APIRouter()


@router.get("/recipients/{case_number}/next-size")
@reads
def next_size(work: Work, request: Request, case_number: str, wish: Annotated[SizeWish, Query()]) -> Response:
    """How big the next socket should be, drawn beside the limb level by level."""
    sizes = queries.next_sizes(work, case_number, wish)
    context = {
        "person": seen_recipient(work, case_number),
        "sizes": [(each, upright(each.levels)) for each in sizes],
        "wish": wish,
        "catalogue": CATALOGUE,
    }
    return render(request, "sizing/next_size.html", context)
