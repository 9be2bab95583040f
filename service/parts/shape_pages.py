"""HTML face of shapes and the sockets made from them: only ever within a case."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.kit.schema import Id
from service.parts import actions, queries
from service.parts.browsing import (
    FilledChange,
    FilledShape,
    FilledVersion,
    shape_by_form,
    socket_change_by_form,
    socket_version_by_form,
)
from service.parts.schemas import StrikeShape
from service.parts.showing import as_it_was, as_it_was_changed, begun, new_socket, old_version
from service.recipients.queries import seen_recipient
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/recipients/{case_number}/shapes")


@router.get("")
@reads
def shapes(work: Work, request: Request, case_number: str) -> Response:
    """The shapes of a recipient's limbs."""
    context = {"person": seen_recipient(work, case_number), "shapes": queries.shapes(work, case_number)}
    return render(request, "parts/shapes.html", context)


@router.get("/new")
@reads
def new_form(work: Work, request: Request, case_number: str) -> Response:
    """The form for a cast or a scan."""
    queries.may_add_shape(work, case_number)
    return render(request, "parts/new_shape.html", {**_person(work, case_number), **UNTOUCHED, "kept": None})


@router.post("/new")
@writes
def add_shape(work: Work, case_number: str, sent: Annotated[FilledShape, Depends(shape_by_form)]) -> Response:
    """Record a cast or a scan."""
    with shown_again("parts/new_shape.html", sent.form, lambda: {**_person(work, case_number), "kept": sent.kept}):
        made = actions.add_shape(work, case_number, *sent.taken())
    return _to_shape(case_number, made.id, "shape-recorded")


@router.get("/{shape}")
@reads
def shape(work: Work, request: Request, case_number: str, shape: Id) -> Response:
    """A shape, drawn and in figures, and the sockets made from it."""
    return render(request, "parts/shape.html", _shape(work, case_number, shape))


@router.get("/{shape}/strike")
@reads
def strike_form(work: Work, request: Request, case_number: str, shape: Id) -> Response:
    """The form that strikes a shape through."""
    queries.may_add_shape(work, case_number)
    return render(request, "parts/strike_shape.html", {**_shape(work, case_number, shape), **UNTOUCHED})


@router.post("/{shape}/strike")
@writes
def strike_shape(work: Work, case_number: str, shape: Id, form: Posted) -> Response:
    """Strike a shape through."""
    with shown_again("parts/strike_shape.html", form, lambda: _shape(work, case_number, shape)):
        actions.strike_shape(work, case_number, shape, command(StrikeShape, filled(form)))
    return _to_shape(case_number, shape, "shape-struck")


@router.get("/{shape}/versions/new")
@reads
def socket_form(work: Work, request: Request, case_number: str, shape: Id) -> Response:
    """The form for a socket made from a shape, begun as the one before ended."""
    context = new_socket(work, case_number, shape)
    return render(request, "parts/version_form.html", {**context, **UNTOUCHED, **begun(context)})


@router.post("/{shape}/versions/new")
@writes
def add_socket_version(
    work: Work, case_number: str, shape: Id, sent: Annotated[FilledVersion, Depends(socket_version_by_form)]
) -> Response:
    """Add a socket version, as a draft."""
    again = lambda: {**new_socket(work, case_number, shape), **as_it_was(sent)}  # noqa: E731 reads best beside its use
    with shown_again("parts/version_form.html", sent.form, again):
        made = actions.add_socket_version(work, case_number, shape, *sent.taken())
    return RedirectResponse(f"/parts/versions/{made.id}?done=version-recorded", 303)


@router.get("/{shape}/versions/{version}/change")
@reads
def change_form(work: Work, request: Request, case_number: str, shape: Id, version: Id) -> Response:
    """The form for a socket's draft."""
    draft = queries.may_change_socket_version(work, case_number, shape, version)
    context = old_version(draft, seen_recipient(work, case_number))
    return render(request, "parts/version_form.html", {**UNTOUCHED, **context})


@router.post("/{shape}/versions/{version}/change")
@writes
def change_socket_version(
    work: Work,
    case_number: str,
    shape: Id,
    version: Id,
    sent: Annotated[FilledChange, Depends(socket_change_by_form)],
) -> Response:
    """Change a socket's draft."""
    with shown_again("parts/version_form.html", sent.form, lambda: as_it_was_changed(work, version, sent)):
        asked, file = sent.taken()
        actions.change_socket_version(work, case_number, shape, version, asked, file=file)
    return RedirectResponse(f"/parts/versions/{version}?done=version-changed", 303)


def _to_shape(case_number: str, shape: int, done: str) -> Response:
    return RedirectResponse(f"/recipients/{case_number}/shapes/{shape}?done={done}", 303)


def _person(work: Work, case_number: str) -> dict[str, Any]:
    return {"person": seen_recipient(work, case_number)}


def _shape(work: Work, case_number: str, shape: int) -> dict[str, Any]:
    return {**_person(work, case_number), "shape": queries.shape(work, case_number, shape)}
