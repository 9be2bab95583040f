"""REST face of messages."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.notifications import actions, queries
from service.notifications.schemas import (
    DropMessage,
    KeepWishes,
    MessageFilter,
    MessageLine,
    MessageView,
    SettleMessage,
    WishesView,
)
from service.web.edge import reads, writes

router = APIRouter(tags=["messages"])


@router.get("/messages")
@reads
def messages(work: Work, wanted: Annotated[MessageFilter, Query()]) -> Page[MessageLine]:
    """Messages of your sites, newest first; `to_do` are calls, letters and mail that did not get through."""
    return queries.messages(work, wanted)


@router.get("/messages/{message}")
@reads
def message(work: Work, message: Id) -> MessageView:
    """One message."""
    return queries.message(work, message)


@router.post("/messages/{message}/done")
@writes
def settle_message(work: Work, message: Id, command: SettleMessage) -> MessageView:
    """Record that a call was made or a letter posted."""
    return actions.settle_message(work, message, command)


@router.post("/messages/{message}/drop")
@writes
def drop_message(work: Work, message: Id, command: DropMessage) -> MessageView:
    """Record that somebody need not be told any more, and why."""
    return actions.drop_message(work, message, command)


@router.post("/messages/{message}/again")
@writes
def send_again(work: Work, message: Id) -> MessageView:
    """Send mail that did not get through once more."""
    return actions.send_again(work, message)


@router.get("/me/wishes")
@reads
def own_wishes(work: Work) -> WishesView:
    """When and how you want to be written to."""
    return queries.own_wishes(work)


@router.put("/me/wishes")
@writes
def keep_wishes(work: Work, command: KeepWishes) -> WishesView:
    """Keep when and how you want to be written to; what is urgent comes at once all the same."""
    return actions.keep_wishes(work, command)
