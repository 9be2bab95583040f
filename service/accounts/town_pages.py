"""HTML face of towns: entered once, then chosen from."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.accounts import actions, queries
from service.accounts.schemas import AddTown, ChangeTown
from service.kit.schema import Id
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/towns")

TOWNS = "accounts/towns.html"
TOWN = "accounts/town.html"


@router.get("")
@reads
def towns(work: Work, request: Request) -> Response:
    """The towns, with the form for another."""
    return render(request, TOWNS, {"towns": queries.towns(work), **UNTOUCHED})


@router.post("")
@writes
def add_town(work: Work, form: Posted) -> Response:
    """Record a town."""
    with shown_again(TOWNS, form, lambda: {"towns": queries.towns(work)}):
        actions.add_town(work, command(AddTown, _degrees(filled(form))))
    return RedirectResponse("/towns?done=town-recorded", 303)


@router.get("/{town}")
@reads
def town_form(work: Work, request: Request, town: Id) -> Response:
    """A town, to put right."""
    found = queries.town(work, town)
    typed = {name: str(value) for name, value in found.model_dump().items()}
    return render(request, TOWN, {"town": found, **UNTOUCHED, "typed": typed})


@router.post("/{town}")
@writes
def change_town(work: Work, town: Id, form: Posted) -> Response:
    """Put a town right."""
    with shown_again(TOWN, form, lambda: {"town": queries.town(work, town)}):
        actions.change_town(work, town, command(ChangeTown, _degrees(filled(form))))
    return RedirectResponse("/towns?done=town-changed", 303)


def _degrees(given: dict[str, str]) -> dict[str, Any]:
    """Degrees as many people write them, with a comma."""
    return {
        name: value.replace(",", ".") if name in {"latitude", "longitude"} else value for name, value in given.items()
    }
