"""REST face of the next size."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.sizing import actions, queries
from service.sizing.answers import NextSize, SizeAnswer, TriedOn
from service.sizing.schemas import AskSize, SizeWish, TryWish
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


@router.get("/recipients/{case_number}/socket-versions/{version}/fit")
@reads
def try_version(work: Work, case_number: str, version: Id, wish: Annotated[TryWish, Query()]) -> TriedOn:
    """A socket version of one of the case's shapes beside the limb, level by level, at scales of its file."""
    return queries.try_version(work, case_number, version, wish)
