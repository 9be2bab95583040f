"""Photographs come in here: each is made plain in a process of its own before the transaction of its act opens.

Who sends one is asked first, as the use case would, so that nobody has a file read whom it would refuse.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, File, Request, UploadFile
from fastapi.responses import Response
from starlette.datastructures import FormData
from starlette.datastructures import UploadFile as Posting

from service.access.work import Work
from service.geometry import reading
from service.kit.errors import Invalid, Refusal
from service.kit.files import Files
from service.kit.schema import Id
from service.kit.unfit import Unfit
from service.parts.upload import Sent, stored
from service.requests import actions, queries
from service.requests.photographs import KeptPhoto
from service.web.edge import frame, reads
from service.web.forms import Posted

PHOTO = "photo"
NO_PHOTO = "Choose a photograph first."
JPEG: dict[int | str, dict[str, Any]] = {
    200: {"description": "A JPEG.", "content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}}}
}
_ALONE = {"Content-Security-Policy": "default-src 'none'; sandbox", "Content-Disposition": "inline; filename=photo.jpg"}
"""It is a picture that we drew ourselves; should a browser think otherwise, nothing in it runs."""

SentPhoto = Sent[KeptPhoto]


def take_in(files: Files, content: bytes) -> SentPhoto:
    """Make a photograph plain and keep it, or say what is wrong with it."""
    try:
        made = reading.photograph(content)
    except Unfit as problem:
        return Sent(Invalid.at(PHOTO, problem.message))
    except Refusal as refusal:
        return Sent(refusal)
    return Sent(KeptPhoto(files.put(made.jpeg), len(made.jpeg), made.width, made.height))


def posted(files: Files, form: FormData, *, may: bool = True) -> SentPhoto:
    """The photograph in a form; it is not looked at for somebody who may not add one."""
    sent = [each for each in form.getlist(PHOTO) if isinstance(each, Posting)]
    chosen = [each.file.read() for each in sent if each.filename] if may else []
    for each in sent:  # nobody reads them a second time
        each.file.close()
    return take_in(files, chosen[0]) if chosen else Sent(Invalid.at(PHOTO, NO_PHOTO))


@reads
def may_add_photo(work: Work, request_id: Id) -> None:
    """Refuse before a file is looked at."""
    actions.may_add_photo(work, request_id)


def by_program(
    request: Request,
    _may: Annotated[None, Depends(may_add_photo)],
    photo: Annotated[UploadFile, File(description="A JPEG, PNG or WebP of at most 15 MB.")],
) -> SentPhoto:
    """A photograph that a program sends."""
    return take_in(frame(request).files, photo.file.read())


def by_form(request: Request, _may: Annotated[None, Depends(may_add_photo)], form: Posted) -> SentPhoto:
    """A photograph that somebody chose on a page."""
    return posted(frame(request).files, form)


@reads
def seen_photo(work: Work, request_id: Id, photo: Id) -> str:
    """The name in the file store of a photograph the actor may see."""
    return queries.photo(work, request_id, photo)


SeenPhoto = Annotated[str, Depends(seen_photo)]


def shown(files: Files, name: str) -> Response:
    """A photograph, as a picture and nothing else."""
    return Response(stored(files, name), media_type="image/jpeg", headers=_ALONE)
