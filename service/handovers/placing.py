"""Putting what was made in place: all of it in the transaction of its fitting, by the use cases of `assembly/`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.access.work import Work
from service.assembly.actions import add_printed_socket, end_place, move_part, put_part
from service.assembly.answers import PlacedPart
from service.assembly.schemas import AddPrintedSocket, EndPlace, MovePart, PutPart
from service.builds.keeping import used_lots
from service.builds.tables import BuildItemRow, BuildPartRow, BuildRow, UseRow
from service.devices.actions import add_device, end_socket
from service.devices.schemas import AddDevice, EndPrevious, EndSocket
from service.handovers.schemas import CameOff, FitBuild, NewDevice
from service.kit.errors import Invalid
from service.parts.rules import PartKind

WORDS = "build {}"


@dataclass(frozen=True)
class Fitted:
    """What was fitted, in which case, and what was said of it."""

    row: BuildRow
    case_number: str
    command: FitBuild


def device_for(work: Work, fitted: Fitted) -> int:
    """The device the parts go into: the build's own, or a new one; raises Invalid where nobody can tell its side."""
    row = fitted.row
    if row.device_id is not None:
        return row.device_id
    wanted = fitted.command.device or NewDevice()
    side = wanted.side or row.side
    if side is None:
        raise Invalid.at("device", "Say on which side the new device is worn.")
    given = {"purpose": wanted.purpose, "side": side, "replaces": wanted.replaces}
    device = add_device(work, fitted.case_number, AddDevice.model_validate(given))
    row.device_id, row.side = device.id, side
    return device.id


def put_in_place(
    work: Work, fitted: Fitted, items: Sequence[BuildItemRow], ends: Sequence[tuple[PlacedPart, CameOff]]
) -> list[int]:
    """End the stays that end, and put every item in place that is no spare; the ids of the new parts."""
    row, case_number, command = fitted.row, fitted.case_number, fitted.command
    on = command.on or work.today
    device_id = row.device_id
    assert device_id is not None  # noqa: S101 `device_for` has seen to it
    socket_end = next((given for stay, given in ends if stay.socket is not None), None)
    new_socket = any(item.kind is PartKind.SOCKET and not item.spare for item in items)
    for stay, given in ends:
        if stay.place is not None:
            end = EndPlace(on=on, came_off=given.why, note=given.note)
            end_place(work, case_number, stay.place, end)
        elif stay.socket is not None and not new_socket:
            gone = EndSocket(ended_on=on, end_reason=given.why, note=given.note)
            end_socket(work, case_number, device_id, stay.socket, gone)
    parts = []
    for item in items:
        if item.spare:
            continue
        for _each in range(item.quantity):
            part = (
                _socket(work, fitted, item, socket_end) if item.kind is PartKind.SOCKET else _part(work, fitted, item)
            )
            work.session.add(BuildPartRow(part_id=part, item_id=item.id))
            parts.append(part)
    work.session.flush()  # what is read next finds where each part came from
    return parts


def take_over(work: Work, stays: Sequence[PlacedPart], device_id: int, command: FitBuild) -> None:
    """Let parts go over from another device; each keeps what it is and its lots."""
    for stay in stays:
        assert stay.place is not None  # noqa: S101 sockets do not go over
        move = MovePart(device=device_id, on=command.on or work.today, confirmed=command.confirmed)
        move_part(work, stay.case_number, stay.place, move)


def _part(work: Work, fitted: Fitted, item: BuildItemRow) -> int:
    row, command = fitted.row, fitted.command
    put = PutPart.model_validate(
        {
            **_made(work, row, item),
            "on": command.on or work.today,
            "kind": None if item.version_id else item.kind,
            "what": item.what,
            "digit": item.digit,
            "side": item.side,
            "one_more": item.quantity > 1,
            "confirmed": command.confirmed,
        }
    )
    placed = put_part(work, fitted.case_number, row.device_id or 0, put)
    assert placed.part is not None  # noqa: S101 a part that was put in place has a number
    return placed.part


def _socket(work: Work, fitted: Fitted, item: BuildItemRow, end: CameOff | None) -> int:
    """A socket with the limits that follow from the inside of its file at its scales."""
    row, command = fitted.row, fitted.command
    previous = EndPrevious(end_reason=end.why, note=end.note) if end else None
    add = AddPrintedSocket.model_validate(
        {
            **_made(work, row, item),
            "fitted_on": command.on or work.today,
            "limits": command.limits,
            "socks_at_fitting": command.socks,
            "previous": previous,
            "confirmed": command.confirmed,
        }
    )
    made = add_printed_socket(work, fitted.case_number, row.device_id or 0, add)
    assert made.part.part is not None  # noqa: S101 a printed socket is a part
    return made.part.part


def _made(work: Work, row: BuildRow, item: BuildItemRow) -> dict[str, object]:
    lots = used_lots(row).with_only_columns(UseRow.lot_id).where(UseRow.item_id == item.id)
    made: dict[str, object] = {
        "lots": tuple(dict.fromkeys(work.session.scalars(lots.order_by(UseRow.id)))),
        "material": item.material,
        "colour": item.colour,
        "note": WORDS.format(row.id),
    }
    if item.version_id is not None:
        made |= {"version": item.version_id, "scale_across": item.scale_across, "scale_along": item.scale_along}
    return made
