"""What happened to things: designs and versions, lots, shapes, and every part put on, taken off or moved."""

from __future__ import annotations

from datetime import timedelta

from service.access.work import Work
from service.assembly import actions as assembly
from service.assembly.schemas import AddPrintedSocket, EndPlace, MovePart, PutPart, StrikePlace
from service.demo.telling import Act, Case, Event, Told, looking_twice
from service.lots import actions as lots
from service.lots.schemas import AddLot, ChangeLot, MoveLot
from service.parts import actions as parts
from service.parts.answers import VersionView
from service.parts.rules import Digit, PartKind
from service.parts.schemas import AddDesign, AddShape, AddVersion, Release, Withdraw

_DRAWN_BY = {"drawn", "with", "format"}
_FINGERS = frozenset(Digit) - {Digit.THUMB}


def _lot(told: Told, work: Work, _: Case, words: Event) -> None:
    key, what = words.pop("key"), words.pop("item")
    command = AddLot.model_validate(words | {"what": what, "received_on": work.today})
    told.lots[key] = lots.add_lot(work, command)


def _lot_corrected(told: Told, work: Work, _: Case, words: Event) -> None:
    lots.correct_lot(work, told.lots[words.pop("key")].id, ChangeLot.model_validate(words))


def _lot_moved(told: Told, work: Work, _: Case, words: Event) -> None:
    lots.move_lot(work, told.lots[words.pop("key")].id, MoveLot.model_validate(words))


def _design(told: Told, work: Work, _: Case, words: Event) -> None:
    told.designs[words["name"]] = parts.add_design(work, AddDesign.model_validate(words)).id


def _version(told: Told, work: Work, _: Case, words: Event) -> None:
    design, number = words.pop("design"), words.pop("number")
    made = looking_twice(
        lambda given: parts.add_version(
            work, told.designs[design], AddVersion.model_validate(given), told.drawings.of(words)
        ),
        _content(words),
    )
    told.versions[f"{design} {number}"] = made.id


def _version_released(told: Told, work: Work, _: Case, words: Event) -> None:
    parts.release(work, told.versions[_called(words)], Release.model_validate(words))


def _version_withdrawn(told: Told, work: Work, _: Case, words: Event) -> None:
    successor = f"{words['design']} {words.pop('successor')}"
    version = told.versions[_called(words)]
    parts.withdraw(work, version, Withdraw.model_validate(words | {"successor": told.versions[successor]}))


def _shape(told: Told, work: Work, case: Case, words: Event) -> None:
    key, file = words.pop("key"), told.drawings.of(words)
    given = {name: value for name, value in words.items() if name not in _DRAWN_BY} | {"taken_on": work.today}
    view = looking_twice(
        lambda said: parts.add_shape(work, case.number, AddShape.model_validate(said | {"unit": file.unit}), file),
        given,
    )
    case.shapes[key] = view.id


def _socket_version(told: Told, work: Work, case: Case, words: Event) -> None:
    key, shape = words.pop("key"), case.shapes[words.pop("shape")]
    file = told.drawings.of(words)

    def add(given: Event) -> VersionView:
        return parts.add_socket_version(work, case.number, shape, AddVersion.model_validate(given), file)

    case.versions[key] = looking_twice(add, _content(words)).id


def _socket_version_released(_: Told, work: Work, case: Case, words: Event) -> None:
    parts.release(work, case.versions[words.pop("key")], Release.model_validate(words))


def _socket_printed(told: Told, work: Work, case: Case, words: Event) -> None:
    key, across, along = (words.pop(name) for name in ("key", "across", "along"))
    words |= {
        "fitted_on": work.today,
        "version": case.versions[words["version"]],
        "scale_across": across,
        "scale_along": along,
        "lots": [told.lots[words.pop("lot")].id],
    }
    made = looking_twice(
        lambda given: assembly.add_printed_socket(
            work, case.number, case.devices[key], AddPrintedSocket.model_validate(given)
        ),
        words,
    )
    case.sockets[key] = made.socket.id


def _parts(told: Told, work: Work, case: Case, words: Event) -> None:
    """Parts put on that day or, entered late, so many days before."""
    key, on = words["key"], work.today + timedelta(days=words.get("in_days", 0))
    for slot, made in words["put"].items():
        put = {**_part(told, slot, made, words.get("scale")), "on": on}
        placed = looking_twice(
            lambda given: assembly.put_part(work, case.number, case.devices[key], PutPart.model_validate(given)), put
        )
        case.places[key, slot] = _stay(placed.place)


def _part(told: Told, slot: str, made: Event, scale: float | None) -> Event:
    """A part as a command has it: of a slot called after what it is, and, if there are two, which one."""
    word = slot.partition(" ")[0]
    put: Event = {"lots": [told.lots[made["lot"]].id], "serial": made.get("serial", "")}
    if "version" not in made:
        return put | {"kind": PartKind(word)}
    size = made.get("scale", scale)
    put |= {"version": told.versions[made["version"]], "scale_across": size, "scale_along": size}
    return put | ({"digit": word} if word in _FINGERS else {})


def _parts_off(_: Told, work: Work, case: Case, words: Event) -> None:
    for slot in words["slots"]:
        command = EndPlace.model_validate({"came_off": words["why"], "note": words.get("note", "")})
        which = (words["key"], slot)
        case.gone[which] = case.places.pop(which)
        assembly.end_place(work, case.number, case.gone[which], command)


def _part_moved(told: Told, work: Work, case: Case, words: Event) -> None:
    name, key = words["to"]
    taker, slot = told.cases[name], words["slot"]
    given = {"device": taker.devices[key], "note": words["note"]}
    place = case.places.pop((words["key"], slot))
    placed = looking_twice(
        lambda said: assembly.move_part(work, case.number, place, MovePart.model_validate(said)), given
    )
    taker.places[key, slot] = _stay(placed.place)


def _part_struck(_: Told, work: Work, case: Case, words: Event) -> None:
    place = case.places.pop((words["key"], words["slot"]))
    assembly.strike_place(work, case.number, place, StrikePlace(why=words["why"]))


def _content(words: Event) -> Event:
    given = {name: value for name, value in words.items() if name not in _DRAWN_BY | {"inside", "settings"}}
    return given | {"print_settings": words["settings"], "unit": "mm"}


def _called(words: Event) -> str:
    return f"{words.pop('design')} {words.pop('number')}"


def _stay(place: int | None) -> int:
    if place is None:
        raise LookupError("a socket has no place of its own")
    return place


ACTS: dict[str, Act] = {
    "lot": _lot,
    "lot_corrected": _lot_corrected,
    "lot_moved": _lot_moved,
    "design": _design,
    "version": _version,
    "version_released": _version_released,
    "version_withdrawn": _version_withdrawn,
    "shape": _shape,
    "socket_version": _socket_version,
    "socket_version_released": _socket_version_released,
    "socket_printed": _socket_printed,
    "parts": _parts,
    "parts_off": _parts_off,
    "part_moved": _part_moved,
    "part_struck": _part_struck,
}
