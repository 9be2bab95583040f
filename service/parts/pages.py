"""HTML face of the library: designs and their versions. What is private to somebody opens from the case."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.kit.paging import Cursor, Listing
from service.kit.schema import Id
from service.parts import actions, queries
from service.parts.answers import VersionView
from service.parts.browsing import FilledChange, FilledVersion, change_by_form, version_by_form
from service.parts.schemas import AddDesign, DesignFilter, NameSuccessor, Release, Withdraw
from service.parts.showing import (
    SeenPage,
    as_it_was,
    as_it_was_changed,
    begun,
    deciding,
    figured,
    new_version,
    old_version,
)
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/parts")


@router.get("")
@reads
def library(work: Work, request: Request, wanted: Annotated[DesignFilter, Query()]) -> Response:
    """What can be printed, by kind."""
    return render(request, "parts/library.html", _library(work, wanted))


@router.get("/new")
@reads
def new_form(work: Work, request: Request) -> Response:
    """The form for a new design."""
    queries.may_add_design(work)
    return render(request, "parts/new.html", UNTOUCHED)


@router.post("/new")
@writes
def add_design(work: Work, form: Posted) -> Response:
    """Record a design."""
    with shown_again("parts/new.html", form, dict):
        made = actions.add_design(work, command(AddDesign, filled(form)))
    return RedirectResponse(f"/parts/{made.id}?done=design-recorded", 303)


@router.get("/{design}")
@reads
def design(work: Work, request: Request, design: Id, cursor: Cursor = None) -> Response:
    """A design and its versions, newest first."""
    versions = queries.versions(work, design, Listing(cursor=cursor))
    return render(
        request,
        "parts/design.html",
        {"design": queries.design(work, design), "versions": versions.items, "next": versions.next},
    )


@router.get("/{design}/versions/new")
@reads
def version_form(work: Work, request: Request, design: Id) -> Response:
    """The form for a new version, begun as the one before ended."""
    queries.may_add_version(work, design)
    context = new_version(work, design)
    return render(request, "parts/version_form.html", {**context, **UNTOUCHED, **begun(context)})


@router.post("/{design}/versions/new")
@writes
def add_version(work: Work, design: Id, sent: Annotated[FilledVersion, Depends(version_by_form)]) -> Response:
    """Add a version, as a draft."""
    with shown_again("parts/version_form.html", sent.form, lambda: {**new_version(work, design), **as_it_was(sent)}):
        made = actions.add_version(work, design, *sent.taken())
    return _to(made, "version-recorded")


@router.get("/versions/{version}")
def version(request: Request, seen: SeenPage) -> Response:
    """A version: drawn, in figures, and what comes out of it at two scales."""
    return render(request, "parts/version.html", {**seen, **figured(request, seen["version"])})


@router.get("/versions/{version}/change")
@reads
def change_form(work: Work, request: Request, version: Id) -> Response:
    """The form for a draft."""
    context = old_version(queries.may_change_version(work, version))
    return render(request, "parts/version_form.html", {**UNTOUCHED, **context})


@router.post("/versions/{version}/change")
@writes
def change_version(work: Work, version: Id, sent: Annotated[FilledChange, Depends(change_by_form)]) -> Response:
    """Change a draft."""
    with shown_again("parts/version_form.html", sent.form, lambda: as_it_was_changed(work, version, sent)):
        asked, file = sent.taken()
        made = actions.change_version(work, version, asked, file)
    return _to(made, "version-changed")


@router.get("/versions/{version}/release")
@reads
def release_form(work: Work, request: Request, version: Id) -> Response:
    """What follows from releasing a version, and why it is released."""
    return render(request, "parts/release.html", {**deciding(work, version), **UNTOUCHED})


@router.post("/versions/{version}/release")
@writes
def release(work: Work, version: Id, form: Posted) -> Response:
    """Release a version."""
    with shown_again("parts/release.html", form, lambda: deciding(work, version)):
        released = actions.release(work, version, command(Release, filled(form)))
    return _to(released, "version-released")


@router.get("/versions/{version}/withdraw")
@reads
def withdraw_form(work: Work, request: Request, version: Id) -> Response:
    """What follows from withdrawing a version, and why it is withdrawn."""
    return render(request, "parts/withdraw.html", {**deciding(work, version), **UNTOUCHED})


@router.post("/versions/{version}/withdraw")
@writes
def withdraw(work: Work, version: Id, form: Posted) -> Response:
    """Withdraw a version."""
    with shown_again("parts/withdraw.html", form, lambda: deciding(work, version)):
        withdrawn = actions.withdraw(work, version, command(Withdraw, filled(form)))
    return _to(withdrawn, "version-withdrawn")


@router.get("/versions/{version}/successor")
@reads
def successor_form(work: Work, request: Request, version: Id) -> Response:
    """Which version is printed instead of a withdrawn one."""
    return render(request, "parts/successor.html", {**deciding(work, version), **UNTOUCHED})


@router.post("/versions/{version}/successor")
@writes
def name_successor(work: Work, version: Id, form: Posted) -> Response:
    """Name the version that is printed instead."""
    with shown_again("parts/successor.html", form, lambda: deciding(work, version)):
        named = actions.name_successor(work, version, command(NameSuccessor, filled(form)))
    return _to(named, "successor-named")


def _to(made: VersionView, done: str) -> Response:
    return RedirectResponse(f"/parts/versions/{made.id}?done={done}", 303)


def _library(work: Work, wanted: DesignFilter) -> dict[str, Any]:
    found = queries.designs(work, wanted)
    asked = wanted.model_dump(mode="json", exclude={"limit", "cursor"}, exclude_defaults=True)
    older = found.next and f"/parts?{urlencode({**asked, 'cursor': found.next})}"
    return {"found": found.items, "wanted": wanted, "older": older, "stock": queries.stock(work)}
