"""REST face of the work list."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.casefile import queries
from service.casefile.schemas import WorkFilter, WorkItem
from service.kit.paging import Page
from service.web.edge import reads

router = APIRouter(tags=["work list"])


@router.get("/work-list")
@reads
def work_list(work: Work, wanted: Annotated[WorkFilter, Query()]) -> Page[WorkItem]:
    """List what is to be done: sockets probably tight already, then everything by the day to act by."""
    return queries.work_list(work, wanted)
