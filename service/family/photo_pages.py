"""A family shows what broke: a page after the request was made, and whenever they look where it stands."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.family.door import Door, by_link, inside
from service.kit.errors import Refusal
from service.kit.schema import Id
from service.requests.actions import add_photo, may_add_photo
from service.requests.arriving import SentPhoto, posted, shown
from service.requests.queries import photo as photo_of
from service.requests.queries import request as request_of
from service.web.edge import frame, writes
from service.web.forms import UNTOUCHED, Posted, shown_again
from service.web.render import render

router = APIRouter(prefix="/family/{token}/requests/{request_id}/photos")

PAGE = "family/photo.html"


@writes
def may_show(work: Work, request: Request, token: str, request_id: Id) -> bool:
    """Whether to look at a photograph at all; the route says what is the matter otherwise."""
    theirs = inside(work, request, token)
    if theirs is None:
        return False
    try:
        may_add_photo(theirs, request_id)
    except Refusal:
        return False
    return True


def taken_in(request: Request, form: Posted, *, may: Annotated[bool, Depends(may_show)]) -> SentPhoto:
    """The photograph, made plain before the transaction of its act opens."""
    return posted(frame(request).files, form, may=may)


@router.get("")
@writes
@by_link
def photos(work: Work, request: Request, door: Door, request_id: Id, *, thanks: bool = False) -> Response:
    """Whether they would show what broke, and what they have shown."""
    return render(request, PAGE, {**_shown(work, door, request_id), "thanks": thanks, **UNTOUCHED})


@router.post("")
@writes
@by_link
def show(  # noqa: PLR0917 what a route takes, it takes by name
    work: Work,
    request: Request,  # noqa: ARG001 the door asks for it
    door: Door,
    request_id: Id,
    form: Posted,
    sent: Annotated[SentPhoto, Depends(taken_in)],
) -> Response:
    """Show what broke."""
    with shown_again(PAGE, form, lambda: {**_shown(work, door, request_id), "thanks": False}):
        may_add_photo(work, request_id)
        add_photo(work, request_id, sent.taken())
    return RedirectResponse(f"{door.home}/requests/{request_id}/photos?thanks=true", 303)


@router.get("/{photo}")
@writes
@by_link
def picture(work: Work, request: Request, _door: Door, request_id: Id, photo: Id) -> Response:
    """One of the photographs they have shown."""
    return shown(frame(request).files, photo_of(work, request_id, photo))


def _shown(work: Work, door: Door, request_id: int) -> dict[str, Any]:
    return door.context(photos=request_of(work, request_id).photos, here=f"{door.home}/requests/{request_id}/photos")
