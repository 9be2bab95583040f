"""REST face of safety notices."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.notices import actions, queries
from service.notices.schemas import (
    AffectedView,
    AnswerNotice,
    CloseNotice,
    NoticeFilter,
    NoticeLine,
    NoticeView,
    OpenNotice,
    RequestsOpened,
)
from service.web.edge import frame, reads, writes

router = APIRouter(prefix="/notices", tags=["notices"])


@router.post("", status_code=201)
@writes
def open_notice(work: Work, request: Request, command: OpenNotice) -> NoticeView:
    """Open a notice; every family and maker it concerns is told. A second one on the same answers 409."""
    return actions.open_notice(work, command, frame(request).settings.charity_phone)


@router.get("")
@reads
def notices(work: Work, wanted: Annotated[NoticeFilter, Query()]) -> Page[NoticeLine]:
    """Open notices, or all, with how many devices still hold what each is about."""
    return queries.notices(work, wanted)


@router.get("/{notice_id}")
@reads
def notice(work: Work, notice_id: Id) -> NoticeView:
    """One notice."""
    return queries.notice(work, notice_id)


@router.get("/{notice_id}/affected")
@reads
def affected(work: Work, notice_id: Id) -> AffectedView:
    """Devices that hold what it is about, builds under way, and stock left."""
    return queries.affected(work, notice_id)


@router.post("/{notice_id}/answers", status_code=201)
@writes
def answer(work: Work, notice_id: Id, command: AnswerNotice) -> NoticeView:
    """Write down what a family said."""
    return actions.answer(work, notice_id, command)


@router.post("/{notice_id}/requests", status_code=201)
@writes
def ask_for_all(work: Work, notice_id: Id) -> RequestsOpened:
    """Ask for a replacement of every affected part, in one act."""
    return actions.ask_for_all(work, notice_id)


@router.post("/{notice_id}/close")
@writes
def close_notice(work: Work, notice_id: Id, command: CloseNotice) -> NoticeView:
    """Close it, once no device holds what it is about."""
    return actions.close_notice(work, notice_id, command)
