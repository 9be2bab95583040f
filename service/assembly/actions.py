"""Recording what devices are made of. Each act writes its audit entry in the same transaction."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.assembly import printed_sockets
from service.assembly.answers import PlacedPart, PrintedSocket
from service.assembly.choosing import as_member
from service.assembly.particulars import Setting, described, lot_rows, moved, version
from service.assembly.placing import (
    STRUCK,
    came_from,
    device_of_anyone,
    keep_room,
    may_leave,
    neighbouring_stays,
    neighbours,
    open_for_parts,
    own_device,
    own_place,
    settle,
    unfitting,
)
from service.assembly.queries import place
from service.assembly.rules import Stay, leaving_problem
from service.assembly.schemas import (
    AddPrintedSocket,
    EndPlace,
    MovePart,
    NewPart,
    PutPart,
    PutPartBack,
    ReplacePart,
    StrikePlace,
)
from service.assembly.stays import STANDING, placed
from service.assembly.tables import PartLotRow, PartRow, PlaceRow, SocketPartRow
from service.audit.actions import note
from service.devices.actions import add_socket
from service.devices.fitting import check_past
from service.devices.rules import EndReason
from service.devices.tables import DeviceRow
from service.kit.errors import Conflict, Doubt, Doubted, Invalid

_CAME_OFF_SPOILT = {EndReason.BROKEN, EndReason.WORN_OUT, EndReason.NOTICE}


@usecase(May.KEEP_DEVICES)
def put_part(work: Work, case_number: str, device_id: int, command: PutPart) -> PlacedPart:
    """Record a part that was put in place.

    Raises Conflict while another part is where only one can be, or for one just like it on the same day; Invalid for a
    version or lots that may not be used, and for what cannot be; Doubted for what would be surprising.
    """
    seen, device = own_device(work, case_number, device_id)
    where = Setting(seen, device, command.on or work.today)
    open_for_parts(work, where)
    printed = version(work, command.version) if command.version is not None else None
    part, doubts = described(work, where, command, printed)
    _refuse_twice(work, where, part, command)
    keep_room(work, device.id, part, Stay(where.on, None))
    doubts += unfitting(as_member(part, printed.row.interface if printed else ""), neighbours(work, where))
    said = settle(doubts, confirmed=command.confirmed)
    row = _store(work, where, part, command, said)
    return place(work, case_number, row.id)


@usecase(May.KEEP_DEVICES)
def end_place(work: Work, case_number: str, place_id: int, command: EndPlace) -> PlacedPart:
    """Record that a part came off; raises Conflict when that is on record already."""
    seen, device, row = own_place(work, case_number, place_id)
    where = Setting(seen, device, command.on or work.today)
    may_leave(work, seen, row, command.came_off, where)
    _take_off(work, where, row, command.came_off, command.note)
    return place(work, case_number, row.id)


@usecase(May.KEEP_DEVICES)
def replace_part(work: Work, case_number: str, place_id: int, command: ReplacePart) -> PlacedPart:
    """Record that a part came off and another was put in its place, in one act; the answer is the new one."""
    seen, device, row = own_place(work, case_number, place_id)
    where = Setting(seen, device, command.on or work.today)
    may_leave(work, seen, row, command.came_off, where)
    open_for_parts(work, where)
    before = work.session.get_one(PartRow, row.part_id)
    bought_again = command.version is None
    printed = None if command.version is None else version(work, command.version)
    if bought_again and before.version_id is not None:
        raise Invalid.at("version", "Say which version the new one was printed from.")
    part, doubts = described(work, where, command, printed, before)
    keep_room(work, device.id, part, Stay(where.on, None), row.id)
    doubts += unfitting(as_member(part, printed.row.interface if printed else ""), neighbours(work, where, row.id))
    said = settle(doubts, confirmed=command.confirmed)
    _take_off(work, where, row, command.came_off, command.end_note)
    new = _store(work, where, part, command, said)
    return place(work, case_number, new.id)


@usecase(May.KEEP_DEVICES)
def move_part(work: Work, case_number: str, place_id: int, command: MovePart) -> PlacedPart:
    """Record that a part went into another device, where it keeps what it is; the answer is the new stay.

    Raises Conflict when it went elsewhere since, and Invalid for a device the actor may not see or it does not fit.
    """
    taker = device_of_anyone(work, command.device)
    seen, device, row = own_place(work, case_number, place_id, command.device)
    to = Setting(taker, work.session.get_one(DeviceRow, command.device), command.on or work.today)
    if row.came_off is EndReason.MISTAKE:
        raise Conflict(STRUCK)
    if row.until is not None and neighbouring_stays(work, row)[1] is not None:
        raise Conflict("This part has gone into another device since. Move it from there.")
    if row.until is None and to.device.id == device.id:
        raise Invalid.at("device", "It is in this device already. Choose the one it went into.")
    open_for_parts(work, to)
    if (problem := leaving_problem(Stay(row.since, row.until), to.on)) is not None:
        raise Invalid.at("on", problem)
    part = work.session.get_one(PartRow, row.part_id)
    doubts = moved(work, to, part)
    keep_room(work, to.device.id, part, Stay(to.on, None))
    there = place(work, case_number, place_id)
    doubts += unfitting(
        as_member(part, there.version.interface if there.version else ""), neighbours(work, to), "device"
    )
    if row.came_off in _CAME_OFF_SPOILT:
        doubts.append(Doubt("device", f"It came off as {row.came_off.words}. Is it in order again?"))
    said = settle(doubts, confirmed=command.confirmed)
    if row.until is None:
        _take_off(work, Setting(seen, device, to.on), row, EndReason.MOVED, "")
    new = _place(work, to, part, command.note, said)
    return place(work, taker.case_number, new.id)


@usecase(May.KEEP_DEVICES)
def strike_place(work: Work, case_number: str, place_id: int, command: StrikePlace) -> PlacedPart:
    """Strike a stay through that never was; a part that had moved there is back where it came from, if there is room.

    Raises Conflict when it is struck already.
    """
    seen, _device, row = own_place(work, case_number, place_id, *came_from(work, place_id))
    if row.came_off is EndReason.MISTAKE:
        raise Conflict(STRUCK)
    before, after = neighbouring_stays(work, row)
    changes = {"came_off": [row.came_off, EndReason.MISTAKE], "until": [_iso(row.until), _iso(work.today)]}
    note(
        work,
        "struck",
        "part in place",
        subject_id=row.id,
        recipient_id=seen.id,
        changes={**changes, "why": [None, command.why]},
    )
    arrived = row.since
    row.until, row.came_off, row.end_note, row.ended_by = work.today, EndReason.MISTAKE, command.why, work.actor.name
    work.session.flush()  # a part is in one place at a time, so this one goes before the other comes back
    if before is not None and before.came_off is EndReason.MOVED and before.until == arrived:
        _go_on(work, before, after)
    return place(work, case_number, row.id)


@usecase(May.KEEP_DEVICES)
def put_part_back(work: Work, case_number: str, place_id: int, command: PutPartBack) -> PlacedPart:
    """Record that a part that is on record as having come off is in place after all.

    Raises Conflict while it is, when it was struck through or went elsewhere, or when another took its place.
    """
    seen, device, row = own_place(work, case_number, place_id)
    if row.came_off is EndReason.MISTAKE:
        raise Conflict("This was struck through, as recorded by mistake. Record the part that is in place anew.")
    if row.until is None:
        raise Conflict("This part is in place already. There is nothing to do.")
    if neighbouring_stays(work, row)[1] is not None:
        raise Conflict("This part has been put in again since. If that was a mistake, strike it through there.")
    part = work.session.get_one(PartRow, row.part_id)
    keep_room(work, device.id, part, Stay(row.since, None), row.id)
    changes = {"until": [_iso(row.until), None], "why": [None, command.why]}
    note(work, "put back", "part in place", subject_id=row.id, recipient_id=seen.id, changes=changes)
    row.until = row.came_off = row.ended_by = None
    row.end_note = ""
    work.session.flush()  # the view that is answered reads what was just written
    return place(work, case_number, row.id)


@usecase(May.KEEP_DEVICES)
def add_printed_socket(work: Work, case_number: str, device_id: int, command: AddPrintedSocket) -> PrintedSocket:
    """Record a fitted socket that was printed from a version made for this person, with the limits that follow.

    Raises what `devices.actions.add_socket` does, and Invalid for a version or lots that may not be used.
    """
    seen, device = own_device(work, case_number, device_id)
    where = Setting(seen, device, command.fitted_on)
    check_past(work, seen, "fitted_on", command.fitted_on)
    source = printed_sockets.source(work, where, command.version)
    limits = printed_sockets.limits(work, where, source, command)
    given = NewPart(**command.model_dump(include=set(NewPart.model_fields) - {"note"}))
    part, doubts = described(work, where, given, source)
    try:
        socket = add_socket(work, case_number, device_id, printed_sockets.as_command(command, limits))
    except Doubted as about_limits:
        raise Doubted((*doubts, *about_limits.doubts)) from about_limits
    said = settle(doubts, confirmed=command.confirmed)
    work.session.add(part)
    work.session.flush()  # the ids are needed below
    is_part = SocketPartRow(socket_id=socket.id, part_id=part.id, doubts=said)
    work.session.add_all([*lot_rows(part.id, command.lots), is_part])
    note(work, "recorded", "part", subject_id=part.id, recipient_id=seen.id)
    work.session.flush()  # the view reads what was just written
    (there,) = [each for each in placed(work, DeviceRow.id == device.id) if each.socket == socket.id]
    return PrintedSocket(socket=socket, part=there)


def _store(work: Work, where: Setting, part: PartRow, command: PutPart | ReplacePart, doubts: list[str]) -> PlaceRow:
    work.session.add(part)
    work.session.flush()  # the id is needed below
    work.session.add_all(lot_rows(part.id, command.lots))
    return _place(work, where, part, "", doubts)


def _place(work: Work, where: Setting, part: PartRow, said: str, doubts: list[str]) -> PlaceRow:
    row = PlaceRow(
        part_id=part.id,
        device_id=where.device.id,
        since=where.on,
        note=said,
        doubts=doubts,
        recorded_at=work.now,
        recorded_by=work.actor.name,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below, and the view reads what was just written
    note(work, "recorded", "part in place", subject_id=row.id, recipient_id=where.seen.id)
    return row


def _take_off(work: Work, where: Setting, row: PlaceRow, why: EndReason, said: str) -> None:
    row.until, row.came_off, row.end_note, row.ended_by = where.on, why, said, work.actor.name
    note(work, "ended", "part in place", subject_id=row.id, recipient_id=where.seen.id)
    work.session.flush()  # a part is in one place at a time, so it leaves the one before it comes to the next


def _go_on(work: Work, before: PlaceRow, after: PlaceRow | None) -> None:
    """Let a part stay on where it was before a move that never was, until it really left; not if the room was taken."""
    part = work.session.get_one(PartRow, before.part_id)
    until = after.since if after is not None else None
    try:
        keep_room(work, before.device_id, part, Stay(before.since, until), before.id)
    except (Conflict, Invalid):
        return
    whose = work.session.scalars(sa.select(DeviceRow.recipient_id).where(DeviceRow.id == before.device_id)).one()
    changes = {"until": [_iso(before.until), _iso(until)]}
    note(work, "put back", "part in place", subject_id=before.id, recipient_id=whose, changes=changes)
    before.until = until
    if until is None:
        before.came_off = before.ended_by = None
    work.session.flush()  # the view reads what was just written


def _refuse_twice(work: Work, where: Setting, part: PartRow, command: PutPart) -> None:
    """Raises Conflict for a part just like one recorded for the same day, and for a serial that is in place already."""
    alike = sa.select(PartRow.id, PlaceRow.device_id).join(PlaceRow, PlaceRow.part_id == PartRow.id).where(STANDING)
    same = [getattr(PartRow, name) == getattr(part, name) for name in ("kind", "what", "serial")]
    if part.serial:
        there = alike.where(*same, PartRow.site_id == part.site_id, PlaceRow.until.is_(None))
        if (found := work.session.execute(there).first()) is not None:
            place_of_it = "this device" if found.device_id == where.device.id else "another device"
            said = f"One with this serial number is in place in {place_of_it}. If it went from there, move it."
            raise Conflict(said)
    if command.one_more:
        return
    for name in ("version_id", "scale_across", "scale_along", "digit", "side", "material", "colour"):
        value = getattr(part, name)
        same.append(getattr(PartRow, name).is_(None) if value is None else getattr(PartRow, name) == value)
    today = alike.where(*same, PlaceRow.device_id == where.device.id, PlaceRow.since == where.on)
    for row in work.session.execute(today.where(PlaceRow.until.is_(None))):
        lots = work.session.scalars(sa.select(PartLotRow.lot_id).where(PartLotRow.part_id == row.id))
        if set(lots) == set(command.lots):
            raise Conflict("A part just like this is on record for this day already. If there are two, say so.")


def _iso(day: Any) -> Any:
    return day and day.isoformat()
