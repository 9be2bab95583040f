"""REST face of lots."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.lots import actions, queries
from service.lots.schemas import AddLot, ChangeLot, LotFilter, LotLine, LotView, MoveLot
from service.web.edge import reads, writes

router = APIRouter(prefix="/lots", tags=["lots"])


@router.post("", status_code=201)
@writes
def add_lot(work: Work, command: AddLot) -> LotView:
    """Record a spool of filament or a batch of bought things."""
    return actions.add_lot(work, command)


@router.get("")
@reads
def lots(work: Work, wanted: Annotated[LotFilter, Query()]) -> Page[LotLine]:
    """Lots of your sites in the order they were recorded, newest first."""
    return queries.lots(work, wanted)


@router.get("/{lot}")
@reads
def lot(work: Work, lot: Id) -> LotView:
    """One lot."""
    return queries.lot(work, lot)


@router.patch("/{lot}")
@writes
def correct_lot(work: Work, lot: Id, command: ChangeLot) -> LotView:
    """Put right what is known of a lot; what is left out stays, and what it is called by never changes."""
    return actions.correct_lot(work, lot, command)


@router.post("/{lot}/state")
@writes
def move_lot(work: Work, lot: Id, command: MoveLot) -> LotView:
    """Hold a lot, withdraw it, use it up or put it back in use, and say why."""
    return actions.move_lot(work, lot, command)
