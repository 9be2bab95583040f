"""HTML face of messages: whom to ring today, what was told, and what somebody wants to hear."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.kit.errors import NotFound
from service.kit.schema import Id
from service.notifications import actions, queries
from service.notifications.links import Reader, unsubscribed
from service.notifications.rules import settle_problem
from service.notifications.schemas import DropMessage, KeepWishes, MessageFilter, SettleMessage
from service.web.edge import frame, reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render
from service.words.catalogue import ENGLISH, preferred, words

router = APIRouter()

ONE = "notifications/message.html"
WISHES = "notifications/wishes.html"
UNSUBSCRIBE = "notifications/unsubscribe.html"


@router.get("/messages")
@reads
def messages(work: Work, request: Request, wanted: Annotated[MessageFilter, Query()]) -> Response:
    """Whom to ring or write to, and what was told."""
    page = queries.messages(work, wanted)
    older = None
    if page.next is not None:
        older = "?" + urlencode({**wanted.model_dump(mode="json", exclude_none=True), "cursor": page.next})
    context = {"to_do": queries.to_do(work), "found": page.items, "older": older, "first": wanted.cursor is None}
    return render(request, "notifications/list.html", context)


@router.get("/messages/{message}")
@reads
def message(work: Work, request: Request, message: Id) -> Response:
    """A message, and what is to be done about it."""
    return render(request, ONE, {**_one(work, message), **UNTOUCHED})


@router.post("/messages/{message}/done")
@writes
def settle_message(work: Work, message: Id, form: Posted) -> Response:
    """They were told."""
    with shown_again(ONE, form, lambda: _one(work, message)):
        actions.settle_message(work, message, command(SettleMessage, filled(form)))
    return RedirectResponse("/messages?done=message-done", 303)


@router.post("/messages/{message}/drop")
@writes
def drop_message(work: Work, message: Id, form: Posted) -> Response:
    """They need not be told any more."""
    with shown_again(ONE, form, lambda: _one(work, message)):
        actions.drop_message(work, message, command(DropMessage, filled(form)))
    return RedirectResponse("/messages?done=message-dropped", 303)


@router.post("/messages/{message}/again")
@writes
def send_again(work: Work, message: Id, form: Posted) -> Response:
    """Send it once more."""
    with shown_again(ONE, form, lambda: _one(work, message)):
        actions.send_again(work, message)
    return RedirectResponse(f"/messages/{message}?done=message-again", 303)


@router.get("/account/messages")
@reads
def wishes_form(work: Work, request: Request) -> Response:
    """When and how the actor is written to."""
    return render(request, WISHES, {"wishes": queries.own_wishes(work), **UNTOUCHED})


@router.post("/account/messages")
@writes
def keep_wishes(work: Work, form: Posted) -> Response:
    """Keep when and how the actor is written to."""
    with shown_again(WISHES, form, lambda: {"wishes": queries.own_wishes(work)}):
        actions.keep_wishes(work, command(KeepWishes, filled(form)))
    return RedirectResponse("/account/messages?done=wishes-kept", 303)


@router.get("/unsubscribe/{token}")
@reads
def unsubscribe_form(_work: Work, request: Request, token: str) -> Response:
    """Ask whether to stop: a link that is only looked at, as mail programs do, must stop nothing."""
    return _unsubscribe(request, token, _reader(request, token), "asked")


@router.post("/unsubscribe/{token}")
@writes
def unsubscribe(work: Work, request: Request, token: str) -> Response:
    """Stop the mail. A mail program sends this in one step (RFC 8058), so the link itself is the proof."""
    reader = _reader(request, token)
    actions.stop_mail(work, reader)
    return _unsubscribe(request, token, reader, "stopped")


@router.post("/unsubscribe/{token}/again")
@writes
def subscribe(work: Work, request: Request, token: str) -> Response:
    """Take it back, for somebody who has no account to say it in."""
    reader = _reader(request, token)
    actions.want_mail(work, reader)
    return _unsubscribe(request, token, reader, "again")


def _reader(request: Request, token: str) -> Reader:
    reader = unsubscribed(frame(request).settings.secret(), token)
    if reader is None:
        raise NotFound("This link does not work. Copy it whole from the mail, or ring the charity.")
    return reader


def _unsubscribe(request: Request, token: str, reader: Reader, state: str) -> Response:
    """The page as it stands: in the language of the mail, for who has no account."""
    wished = (request.query_params.get("lang"), request.headers.get("Accept-Language"))
    said = words(preferred(*wished) if reader.account_id is None else ENGLISH)
    context = {"_": said, "lang": said.code, "dir": said.direction, "state": state}
    where = {"here": f"/unsubscribe/{token}", "has_account": reader.account_id is not None}
    return render(request, UNSUBSCRIBE, {**context, **where})


def _one(work: Work, message_id: int) -> dict[str, Any]:
    found = queries.message(work, message_id)
    return {"message": found, "to_do": settle_problem(found.state, found.channel) is None}
