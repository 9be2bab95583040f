"""HTML face of the next size."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.kit.schema import Id
from service.recipients.queries import seen_recipient
from service.sizing import queries
from service.sizing.drawing import upright
from service.sizing.schemas import SizeWish, TryWish
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
        "sizes": [(each, upright(each.levels, each.inside)) for each in sizes],
        "wish": wish,
    }
    return render(request, "sizing/next_size.html", context)


@router.get("/recipients/{case_number}/socket-versions/{version}")
@reads
def try_version(
    work: Work, request: Request, case_number: str, version: Id, wish: Annotated[TryWish, Query()]
) -> Response:
    """A socket version beside the limb it was made for, level by level."""
    tried = queries.try_version(work, case_number, version, wish)
    context = {
        "person": seen_recipient(work, case_number),
        "tried": tried,
        "drawing": upright(tried.levels, tried.inside),
        "wish": wish,
    }
    return render(request, "sizing/try_version.html", context)
