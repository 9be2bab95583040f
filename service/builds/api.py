"""REST face of builds. Moves, checks and what blocks them are in `gate/api.py`."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.builds import actions, queries
from service.builds.schemas import (
    BuildFilter,
    BuildLine,
    BuildView,
    ChangeBuild,
    ChooseItems,
    DiscardPrint,
    LogPrint,
    OpenBuild,
    StockView,
    Sums,
    SumsFilter,
    UseLots,
)
from service.kit.paging import Page
from service.kit.schema import Id
from service.web.edge import reads, writes

router = APIRouter(prefix="/builds", tags=["builds"])


@router.post("", status_code=201)
@writes
def open_build(work: Work, command: OpenBuild) -> BuildView:
    """Begin what answers a request; a second one answers 409 naming the first."""
    return actions.open_build(work, command)


@router.get("")
@reads
def builds(work: Work, wanted: Annotated[BuildFilter, Query()]) -> Page[BuildLine]:
    """Builds under way, or those in a state, of a case or of a request."""
    return queries.builds(work, wanted)


@router.get("/sums")
@reads
def sums(work: Work, wanted: Annotated[SumsFilter, Query()]) -> Sums:
    """Hours, grams and cost of prints by site, month, recipient, device or build."""
    return queries.sums(work, wanted)


@router.get("/stock")
@reads
def stock(work: Work) -> Page[StockView]:
    """What is left of each lot of your sites: what came in, less what builds took."""
    return Page(items=queries.stock(work))


@router.get("/{build_id}")
@reads
def build(work: Work, build_id: Id) -> BuildView:
    """One build: what is made from what, every print, every move, and what is missing."""
    return queries.build(work, build_id)


@router.patch("/{build_id}")
@writes
def change_build(work: Work, build_id: Id, command: ChangeBuild) -> BuildView:
    """Change who makes it, the printer, the day, or the remarks."""
    return actions.change_build(work, build_id, command)


@router.put("/{build_id}/items")
@writes
def choose_items(work: Work, build_id: Id, command: ChooseItems) -> BuildView:
    """Choose what is to be made, while nothing is printed."""
    return actions.choose_items(work, build_id, command)


@router.post("/{build_id}/prints", status_code=201)
@writes
def log_print(work: Work, build_id: Id, command: LogPrint) -> BuildView:
    """Log one go at an item, that came out or failed."""
    return actions.log_print(work, build_id, command)


@router.post("/{build_id}/prints/{print_id}/discard")
@writes
def discard_print(work: Work, build_id: Id, print_id: Id, command: DiscardPrint) -> BuildView:
    """What came out is not in the build any more; it stays on record."""
    return actions.discard_print(work, build_id, print_id, command)


@router.post("/{build_id}/lots", status_code=201)
@writes
def use_lots(work: Work, build_id: Id, command: UseLots) -> BuildView:
    """Name the lots that a bought item is from."""
    return actions.use_lots(work, build_id, command)
