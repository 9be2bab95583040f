"""REST face of parts in place, of what is worn of a lot or a version, and of sockets printed from their own version."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.assembly import actions, queries
from service.assembly.answers import AssembliesOn, PlacedPart, PrintedSocket, Replacements, WornBy
from service.assembly.schemas import (
    AddPrintedSocket,
    AskReplacements,
    EndPlace,
    MovePart,
    OnDay,
    PutPart,
    PutPartBack,
    ReplacePart,
    StrikePlace,
    WornFilter,
)
from service.kit.paging import Page
from service.kit.schema import Id
from service.web.edge import reads, writes

router = APIRouter(tags=["parts in place"])

CASE = "/recipients/{case_number}"
PLACE = f"{CASE}/parts-in-place/{{place}}"


@router.get(f"{CASE}/parts-in-place")
@reads
def parts_in_place(work: Work, case_number: str, wanted: Annotated[OnDay, Query()]) -> AssembliesOn:
    """What every device was made of when a day ended, today unless given."""
    return queries.parts_in_place(work, case_number, wanted.on)


@router.get(f"{CASE}/devices/{{device}}/parts")
@reads
def parts_of_device(work: Work, case_number: str, device: Id) -> Page[PlacedPart]:
    """Every part that ever was in a device, those struck through too, the newest first."""
    return Page(items=queries.parts_of_device(work, case_number, device))


@router.post(f"{CASE}/devices/{{device}}/parts", status_code=201)
@writes
def put_part(work: Work, case_number: str, device: Id, command: PutPart) -> PlacedPart:
    """Record a part that was put in place."""
    return actions.put_part(work, case_number, device, command)


@router.post(f"{CASE}/devices/{{device}}/sockets/printed", status_code=201)
@writes
def add_printed_socket(work: Work, case_number: str, device: Id, command: AddPrintedSocket) -> PrintedSocket:
    """Record a fitted socket that was printed from a version made for this person, with the limits that follow."""
    return actions.add_printed_socket(work, case_number, device, command)


@router.get(PLACE)
@reads
def part_in_place(work: Work, case_number: str, place: Id) -> PlacedPart:
    """One stay of a part in a device."""
    return queries.place(work, case_number, place)


@router.get(f"{PLACE}/whereabouts")
@reads
def whereabouts(work: Work, case_number: str, place: Id) -> Page[PlacedPart]:
    """Every stay of the same part, in cases that may be seen, the oldest first."""
    return Page(items=queries.whereabouts(work, case_number, place))


@router.get(f"{PLACE}/replacements")
@reads
def replacements(work: Work, case_number: str, place: Id, asked: Annotated[AskReplacements, Query()]) -> Replacements:
    """What may replace a part, at which scale and colour, and why other versions may not."""
    return queries.replacements(work, case_number, place, asked.scales)


@router.post(f"{PLACE}/end")
@writes
def end_place(work: Work, case_number: str, place: Id, command: EndPlace) -> PlacedPart:
    """Record that a part came off."""
    return actions.end_place(work, case_number, place, command)


@router.post(f"{PLACE}/move", status_code=201)
@writes
def move_part(work: Work, case_number: str, place: Id, command: MovePart) -> PlacedPart:
    """Record that a part went into another device; answers the new stay."""
    return actions.move_part(work, case_number, place, command)


@router.post(f"{PLACE}/replace", status_code=201)
@writes
def replace_part(work: Work, case_number: str, place: Id, command: ReplacePart) -> PlacedPart:
    """Record that a part came off and another was put in its place; answers the new one."""
    return actions.replace_part(work, case_number, place, command)


@router.post(f"{PLACE}/strike")
@writes
def strike_place(work: Work, case_number: str, place: Id, command: StrikePlace) -> PlacedPart:
    """Strike a stay through that was recorded by mistake; it stays on record and counts no more."""
    return actions.strike_place(work, case_number, place, command)


@router.post(f"{PLACE}/put-back")
@writes
def put_part_back(work: Work, case_number: str, place: Id, command: PutPartBack) -> PlacedPart:
    """Record that a part is in place after all."""
    return actions.put_part_back(work, case_number, place, command)


@router.get("/lots/{lot}/worn")
@reads
def lot_worn(work: Work, lot: Id, wanted: Annotated[WornFilter, Query()]) -> WornBy:
    """Every limb that wears something made from a lot, now, on a day or ever; the limbs of other cases are counted."""
    return queries.worn(work, wanted, lot=lot)


@router.get("/part-versions/{version}/worn")
@reads
def version_worn(work: Work, version: Id, wanted: Annotated[WornFilter, Query()]) -> WornBy:
    """Every limb that wears something printed from a version, as for a lot."""
    return queries.worn(work, wanted, version=version)
