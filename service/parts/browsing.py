"""Files that come in through a page. What a browser sends is read as what a program sends is (`upload.py`).

A browser cannot fill in a file field again. So a file that was read, and that came back for something else, stays in
the store, and the form carries its name and a proof that this browser sent it.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Generic, TypeVar

from fastapi import Depends, Request
from pydantic import BaseModel
from starlette.datastructures import FormData, UploadFile

from service.kit.errors import Conflict, Invalid, Refusal, TooMany
from service.parts import posted
from service.parts.answers import VersionView
from service.parts.schemas import AddShape, AddVersion, ChangeVersion, ReadFile
from service.parts.upload import (
    FILE,
    NO_FILE,
    Arrived,
    Sent,
    draft,
    may_add_shape,
    may_add_socket_version,
    may_add_version,
    plain_name,
    read_again,
    socket_draft,
    stored,
    take_in,
)
from service.web.edge import frame
from service.web.form_token import SESSION_COOKIE
from service.web.forms import Posted, command, filled

C = TypeVar("C", bound=BaseModel)
T = TypeVar("T")
Said = tuple[dict[str, Any], list[int]]

KEPT_NAME, KEPT_PROOF = "kept_name", "kept_proof"


@dataclass(frozen=True, slots=True)
class Kept:
    """A file that need not be chosen again."""

    name: str
    proof: str


@dataclass(frozen=True, slots=True)
class Filled(Generic[T]):
    """A form that was filled in, and the command and file in it."""

    form: FormData
    sent: Sent[T]
    kept: Kept | None = None

    def taken(self) -> T:
        """The command and its file; raises what was wrong with them."""
        return self.sent.taken()


FilledVersion = Filled[tuple[AddVersion, ReadFile]]
FilledShape = Filled[tuple[AddShape, ReadFile]]
FilledChange = Filled[tuple[ChangeVersion, ReadFile | None]]


def version_by_form(request: Request, _may: Annotated[None, Depends(may_add_version)], form: Posted) -> FilledVersion:
    """A version, from its form."""
    return _filled(request, form, AddVersion, posted.said)


def socket_version_by_form(
    request: Request, _may: Annotated[None, Depends(may_add_socket_version)], form: Posted
) -> FilledVersion:
    """A socket version, from its form."""
    return _filled(request, form, AddVersion, posted.said)


def shape_by_form(request: Request, _may: Annotated[None, Depends(may_add_shape)], form: Posted) -> FilledShape:
    """A shape, from its form."""
    return _filled(request, form, AddShape, _shape_said)


def change_by_form(request: Request, before: Annotated[VersionView, Depends(draft)], form: Posted) -> FilledChange:
    """The particulars of a draft, from their form."""
    return _changed(request, before, form)


def socket_change_by_form(
    request: Request, before: Annotated[VersionView, Depends(socket_draft)], form: Posted
) -> FilledChange:
    """The particulars of a socket's draft, from their form."""
    return _changed(request, before, form)


def _filled(
    request: Request, form: FormData, kind: type[C], read: Callable[[FormData], Said]
) -> Filled[tuple[C, ReadFile]]:
    rows: list[int] = []
    try:
        name, content, is_new = _file(request, form)
        said, rows = read(form)
        if is_new:
            said.pop("confirmed", None)  # it was said of the file before
        both = take_in(frame(request).files, kind, Arrived(name, content, said)).taken()
    except Refusal as refusal:
        return Filled(form, Sent(_for_a_form(refusal, rows)))
    return Filled(form, Sent(both), Kept(name, _proof(request, name, both[1].sha256)))


def _changed(request: Request, before: VersionView, form: FormData) -> FilledChange:
    rows: list[int] = []
    try:
        said, rows = posted.said(form)
        asked = command(ChangeVersion, {"inside": None, "what_changed": "", **said})
        return Filled(form, Sent((asked, read_again(frame(request).files, before, asked))))
    except Refusal as refusal:
        return Filled(form, Sent(_for_a_form(refusal, rows)))


def _for_a_form(refusal: Refusal, rows: list[int]) -> Refusal:
    """What is wrong, as a form shows it: at its own rows, and never on a page that has lost what was typed."""
    if isinstance(refusal, TooMany):
        return Conflict(refusal.detail)
    return posted.at_rows(refusal, rows) if isinstance(refusal, Invalid) else refusal


def _shape_said(form: FormData) -> Said:
    given = filled(form)
    return {name: given[name] for name in given if name not in {KEPT_NAME, KEPT_PROOF}}, []


def _file(request: Request, form: FormData) -> tuple[str, bytes, bool]:
    """The file that was chosen, or the one that is kept from the time before; and whether it is a new one."""
    sent = [each for each in form.getlist(FILE) if isinstance(each, UploadFile)]
    chosen = [(plain_name(each.filename), each.file.read()) for each in sent if each.filename]
    for each in sent:
        each.file.close()
    if len(chosen) > 1:
        raise Invalid.at(FILE, "Choose one file at a time.")
    if chosen:
        return *chosen[0], True
    given = filled(form)
    name, proof = given.get(KEPT_NAME, ""), given.get(KEPT_PROOF, "")
    sha256 = proof.partition(":")[0]
    if not hmac.compare_digest(_proof(request, name, sha256).encode(), proof.encode()):
        raise Invalid.at(FILE, NO_FILE)
    return name, stored(frame(request).files, sha256), False


def _proof(request: Request, name: str, sha256: str) -> str:
    """The hash a file is kept under, with a MAC that only this browser was given: nobody fetches another's so."""
    secret: bytes = frame(request).settings.secret()
    message = f"file:{request.cookies.get(SESSION_COOKIE, '')}:{sha256}:{name}"
    return f"{sha256}:{hmac.new(secret, message.encode(), hashlib.sha256).hexdigest()}"
