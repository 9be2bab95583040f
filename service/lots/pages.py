"""HTML face of lots: made for one hand on a phone, at the shelf."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.accounts.queries import sites
from service.kit.schema import Id
from service.lots import actions, posted, queries
from service.lots.rules import LotState
from service.lots.schemas import AddLot, ChangeLot, LotFilter, LotView, MoveLot
from service.lots.telling import told
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/lots")


@router.get("")
@reads
def lots(work: Work, request: Request, wanted: Annotated[LotFilter, Query()]) -> Response:
    """Lots, those that are held first."""
    return render(request, "lots/list.html", _list_context(work, wanted))


@router.get("/new")
@reads
def new_form(work: Work, request: Request, like: Id | None = None) -> Response:
    """The form for a lot that came in, filled in as one like it."""
    actions.may_keep_lots(work)
    return render(request, "lots/new.html", {**_new_context(work), **UNTOUCHED, **_as_like(work, like)})


@router.post("/new")
@writes
def add_lot(work: Work, form: Posted, like: Id | None = None) -> Response:
    """Record a lot."""
    with shown_again("lots/new.html", form, lambda: {**_new_context(work), "like": like and queries.lot(work, like)}):
        added = actions.add_lot(work, command(AddLot, posted.added(form)))
    return _to_lot(added, "lot-recorded")


@router.get("/{lot}")
@reads
def lot(work: Work, request: Request, lot: Id) -> Response:
    """A lot: what it is, whether something may be made from it, and what was done to it."""
    events = [told(event) for event in queries.lot_history(work, lot)]
    return render(request, "lots/lot.html", {"lot": queries.lot(work, lot), "events": events})


@router.get("/{lot}/change")
@reads
def change_form(work: Work, request: Request, lot: Id) -> Response:
    """The form that puts right what is known of a lot."""
    actions.may_keep_lots(work)
    found = queries.lot(work, lot)
    return render(request, "lots/change.html", {"lot": found, **UNTOUCHED, "typed": posted.typed(found)})


@router.post("/{lot}/change")
@writes
def correct_lot(work: Work, lot: Id, form: Posted) -> Response:
    """Put right what is known of a lot."""
    with shown_again("lots/change.html", form, lambda: {"lot": queries.lot(work, lot)}):
        changed = actions.correct_lot(work, lot, command(ChangeLot, posted.corrected(form)))
    return _to_lot(changed, "lot-changed")


@router.get("/{lot}/state")
@reads
def state_form(work: Work, request: Request, lot: Id, to: LotState = LotState.HELD) -> Response:
    """The form that asks why a lot changes its state, and says what follows from it."""
    actions.may_keep_lots(work)
    return render(request, "lots/state.html", {"lot": queries.lot(work, lot), "to": to, **UNTOUCHED})


@router.post("/{lot}/state")
@writes
def move_lot(work: Work, lot: Id, to: LotState, form: Posted) -> Response:
    """Put a lot in another state."""
    with shown_again("lots/state.html", form, lambda: {"lot": queries.lot(work, lot), "to": to}):
        moved = actions.move_lot(work, lot, command(MoveLot, {**filled(form), "state": to}))
    return _to_lot(moved, "lot-moved")


def _to_lot(lot: LotView, done: str) -> Response:
    return RedirectResponse(f"/lots/{lot.id}?done={done}", 303)


def _list_context(work: Work, wanted: LotFilter) -> dict[str, Any]:
    page = queries.lots(work, wanted)
    older = None
    if page.next is not None:
        older = "?" + urlencode({**wanted.model_dump(mode="json", exclude_none=True), "cursor": page.next})
    return {
        "found": page.items,
        "held": queries.lots_held(work),
        "wanted": wanted,
        "older": older,
        "first": wanted.cursor is None,
        "sites": sites(work),
    }


def _new_context(work: Work) -> dict[str, Any]:
    return {"again": queries.recorded_last(work), "sites": [(each.code, each.name) for each in sites(work)]}


def _as_like(work: Work, like: int | None) -> dict[str, Any]:
    if like is None:
        return {"like": None}
    lot = queries.lot(work, like)
    return {"like": lot, "typed": posted.typed_like(lot)}
