"""REST face of the next size."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.sizing import actions, queries
from service.sizing.answers import NextSize, SizeAnswer
from service.sizing.schemas import AskSize, SizeWish
from service.web.edge import reads

router = APIRouter(tags=["sizes"])


@router.post("/sizes")
@reads
def ask(work: Work, command: AskSize) -> SizeAnswer:
    """How big the next socket should be, from figures you send, without a case; nothing is stored."""
    return actions.ask(work, command)


@router.get("/recipients/{case_number}/next-size")
@reads
def next_sizes(work: Work, case_number: str, wish: Annotated[SizeWish, Query()]) -> Page[NextSize]:
    """How big the next one should be, for each socket in place of a device in use."""
    return Page(items=queries.next_sizes(work, case_number, wish))
