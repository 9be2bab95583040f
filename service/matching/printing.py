"""Whether somebody's printers, materials and colours suit what is to be printed, as reasons. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from service.matching.facts import Job, Piece, Printer, Volunteer
from service.matching.model.box import Lies, how_it_lies, lacks
from service.matching.verdicts import Reason, Topic, bars, fits, notes
from service.volunteers.rules import PrinterState, Skill


def needs_colour(volunteer: Volunteer, job: Job) -> bool:
    """Whether some piece is wished in a colour they would have to buy."""
    return any(piece.colour and not _has_colour(volunteer, piece) for piece in job.pieces)


def printing(volunteer: Volunteer, job: Job) -> Iterator[Reason]:
    """Every reason about printing, piece by piece."""
    if not job.pieces:
        if Skill.PRINT in job.needs:
            yield notes(Topic.PRINTER, "What is to be printed is not chosen yet, so no printer was compared with it.")
            if not _working(volunteer):
                yield _no_printer(volunteer)
        return
    for piece in job.pieces:
        yield from _piece(volunteer, piece)


def _piece(volunteer: Volunteer, piece: Piece) -> Iterator[Reason]:
    working = _working(volunteer)
    if not working:
        yield _no_printer(volunteer)
        return
    able = [printer for printer in working if piece.box is None or how_it_lies(piece.box, printer.room) is not None]
    if not able:
        yield _too_small(piece, working)
        return
    yield _goes_in(piece, able[0])
    pure = [printer for printer in able if _prints(printer, piece)]
    if not pure:
        wanted = " or ".join(sorted(piece.materials))
        said = f"{_the(able)} can take the {piece.what}, but {_is(able)} not said to print {wanted} well."
        yield bars(Topic.MATERIAL, said, f"Ask whether it prints {wanted} well, and record it with the printer.")
        return
    if piece.materials:
        yield fits(Topic.MATERIAL, f"{_the(pure)} print{_s(pure)} {_matching(pure[0], piece)} well.")
    yield from _nozzle(piece, pure)
    if piece.colour:
        yield _colour(volunteer, piece)


def _nozzle(piece: Piece, printers: list[Printer]) -> Iterator[Reason]:
    if piece.nozzle_mm is None:
        return
    wanted = piece.nozzle_mm
    if any(printer.nozzle_mm <= wanted + 1e-9 for printer in printers):
        finest = min(printer.nozzle_mm for printer in printers)
        yield fits(
            Topic.NOZZLE, f"The nozzle of {finest:g} mm is fine enough for the {piece.what}, made for {wanted:g}."
        )
        return
    finest = min(printer.nozzle_mm for printer in printers)
    said = f"The {piece.what} is made for a nozzle of {wanted:g} mm, and theirs is {finest:g} mm."
    yield bars(Topic.NOZZLE, said, f"A nozzle of {wanted:g} mm in {_the(printers)} would do.")


def _colour(volunteer: Volunteer, piece: Piece) -> Reason:
    if _has_colour(volunteer, piece):
        return fits(Topic.COLOUR, f"They have {piece.colour} on hand for the {piece.what}.")
    return notes(Topic.COLOUR, f"The {piece.what} is wished in {piece.colour}, which they would have to buy.")


def _has_colour(volunteer: Volunteer, piece: Piece) -> bool:
    """A colour on hand, in a material the piece is made of, if that is said."""
    wished = piece.colour.casefold().strip()
    return any(
        colour == wished and (not piece.materials or material in piece.folded) for material, colour in volunteer.stock
    )


def _goes_in(piece: Piece, printer: Printer) -> Reason:
    if piece.box is None:
        return notes(Topic.PRINTER, f"No file of the {piece.what} is known, so no printer was compared with it.")
    lie = how_it_lies(piece.box, printer.room)
    if lie is None:
        raise ValueError("asked only of a printer that takes it")
    how = {
        Lies.UPRIGHT: "as the file lies",
        Lies.LYING: "lying on a side",
        Lies.TURNED: f"turned {lie.turned_degrees:.0f} degrees on the bed{', lying on a side' if lie.on_side else ''}",
    }[lie.lies]
    said = f"The {piece.what}, {_size(piece.box)}, goes into the {printer.name} ({_size(printer.room)}) {how}"
    return fits(Topic.PRINTER, f"{said}; {lie.spare_mm:.0f} mm are left above.")


def _too_small(piece: Piece, printers: list[Printer]) -> Reason:
    box = piece.box or (0.0, 0.0, 0.0)
    nearest = min(printers, key=lambda printer: lacks(box, printer.room))
    said = (
        f"The {piece.what}, {_size(box)}, does not go into the {nearest.name} ({_size(nearest.room)}): upright, lying "
        f"or turned on the bed, it is {max(lacks(box, nearest.room), 0.1):.1f} mm too long."
    )
    return bars(Topic.PRINTER, said, "A printer with more room would do, or the part in two pieces.")


def _no_printer(volunteer: Volunteer) -> Reason:
    if broken := [each.name for each in volunteer.printers if each.state is PrinterState.OUT_OF_ORDER]:
        return bars(Topic.PRINTER, f"Their {broken[0]} is out of order.", "It would do once it works again.")
    return bars(Topic.PRINTER, "They have no printer on record.", "Record one if they have one.")


def _working(volunteer: Volunteer) -> list[Printer]:
    return [printer for printer in volunteer.printers if printer.state is PrinterState.WORKING]


def _prints(printer: Printer, piece: Piece) -> bool:
    return not piece.materials or bool(piece.folded & printer.materials)


def _matching(printer: Printer, piece: Piece) -> str:
    return " and ".join(sorted(each for each in piece.materials if each.casefold() in printer.materials))


def _size(box: tuple[float, float, float]) -> str:
    return " by ".join(f"{edge:.0f}" for edge in box) + " mm"


def _the(printers: list[Printer]) -> str:
    return "The " + " and the ".join(printer.name for printer in printers)


def _is(printers: list[Printer]) -> str:
    return "is" if len(printers) == 1 else "are"


def _s(printers: list[Printer]) -> str:
    return "s" if len(printers) == 1 else ""
