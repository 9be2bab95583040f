"""Why somebody can or cannot make something: a list of reasons, each a sentence with its figures. Pure."""

from __future__ import annotations

import enum
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from service.kit.days import full_day
from service.matching.facts import (
    DAYS_AHEAD,
    Job,
    Piece,
    Printer,
    Volunteer,
    days_on_the_way,
    delivers,
    first_day,
    hours_of,
    km_between,
    rounded_km,
)
from service.matching.model.box import Lies, how_it_lies, lacks
from service.volunteers.rules import PrinterState, Skill


class Verdict(enum.StrEnum):
    """What a reason says: it fits, it stands in the way, or it is good to know."""

    FITS = "fits"
    IN_THE_WAY = "in_the_way"
    TO_KNOW = "to_know"


class Topic(enum.StrEnum):
    """What a reason is about."""

    SITE = "site"
    PRINTER = "printer"
    MATERIAL = "material"
    NOZZLE = "nozzle"
    COLOUR = "colour"
    TRAINING = "training"
    ABSENCE = "absence"
    HOURS = "hours"
    JOBS = "jobs"
    VETTING = "vetting"
    DISTANCE = "distance"
    ANSWER = "answer"
    CHECK = "check"


@dataclass(frozen=True)
class Reason:
    """One reason; `remedy` says what would make it fit, empty when nothing is in the way."""

    topic: Topic
    verdict: Verdict
    words: str
    remedy: str = ""


def reasons(volunteer: Volunteer, job: Job, today: date) -> list[Reason]:
    """Everything that speaks for and against, in the order in which it is looked at; nothing is left out in silence."""
    return [
        _site(volunteer, job, today),
        *_printing(volunteer, job),
        *_training(volunteer, job),
        *_time(volunteer, job, today),
        _vetting(volunteer, job, today),
        _distance(volunteer, job, today),
        *_asked(volunteer, job),
        *_check(volunteer),
    ]


def is_eligible(found: list[Reason]) -> bool:
    """Whether nothing stands in the way."""
    return all(reason.verdict is not Verdict.IN_THE_WAY for reason in found)


def needs_colour(volunteer: Volunteer, job: Job) -> bool:
    """Whether some piece is wished in a colour they would have to buy."""
    return any(piece.colour and not _has_colour(volunteer, piece) for piece in job.pieces)


def _fits(topic: Topic, words: str) -> Reason:
    return Reason(topic, Verdict.FITS, words)


def _bars(topic: Topic, words: str, remedy: str) -> Reason:
    return Reason(topic, Verdict.IN_THE_WAY, words, remedy)


def _notes(topic: Topic, words: str) -> Reason:
    return Reason(topic, Verdict.TO_KNOW, words)


def _site(volunteer: Volunteer, job: Job, today: date) -> Reason:
    if volunteer.left_on is not None and volunteer.left_on <= today:
        return _bars(Topic.SITE, f"They left on {full_day(volunteer.left_on)}.", "Ask whether they are back.")
    if volunteer.site != job.site:
        said = f"They belong to {volunteer.site}, and the request to {job.site}."
        return _bars(Topic.SITE, said, "A coordinator of both sites can move the volunteer or the case.")
    return _fits(Topic.SITE, f"They belong to {volunteer.site}, as the request does.")


def _printing(volunteer: Volunteer, job: Job) -> Iterator[Reason]:
    if not job.pieces:
        if Skill.PRINT in job.needs:
            yield _notes(Topic.PRINTER, "What is to be printed is not chosen yet, so no printer was compared with it.")
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
        yield _bars(Topic.MATERIAL, said, f"Ask whether it prints {wanted} well, and record it with the printer.")
        return
    if piece.materials:
        yield _fits(Topic.MATERIAL, f"{_the(pure)} print{_s(pure)} {_matching(pure[0], piece)} well.")
    yield from _nozzle(piece, pure)
    if piece.colour:
        yield _colour(volunteer, piece)


def _nozzle(piece: Piece, printers: list[Printer]) -> Iterator[Reason]:
    if piece.nozzle_mm is None:
        return
    wanted = piece.nozzle_mm
    if any(printer.nozzle_mm <= wanted + 1e-9 for printer in printers):
        finest = min(printer.nozzle_mm for printer in printers)
        yield _fits(
            Topic.NOZZLE, f"The nozzle of {finest:g} mm is fine enough for the {piece.what}, made for {wanted:g}."
        )
        return
    finest = min(printer.nozzle_mm for printer in printers)
    said = f"The {piece.what} is made for a nozzle of {wanted:g} mm, and theirs is {finest:g} mm."
    yield _bars(Topic.NOZZLE, said, f"A nozzle of {wanted:g} mm in {_the(printers)} would do.")


def _colour(volunteer: Volunteer, piece: Piece) -> Reason:
    if _has_colour(volunteer, piece):
        return _fits(Topic.COLOUR, f"They have {piece.colour} on hand for the {piece.what}.")
    return _notes(Topic.COLOUR, f"The {piece.what} is wished in {piece.colour}, which they would have to buy.")


def _has_colour(volunteer: Volunteer, piece: Piece) -> bool:
    """A colour on hand, in a material the piece is made of, if that is said."""
    wished = piece.colour.casefold().strip()
    return any(
        colour == wished and (not piece.materials or material in piece.folded) for material, colour in volunteer.stock
    )


def _goes_in(piece: Piece, printer: Printer) -> Reason:
    if piece.box is None:
        return _notes(Topic.PRINTER, f"No file of the {piece.what} is known, so no printer was compared with it.")
    lie = how_it_lies(piece.box, printer.room)
    if lie is None:
        raise ValueError("asked only of a printer that takes it")
    how = {
        Lies.UPRIGHT: "as the file lies",
        Lies.LYING: "lying on a side",
        Lies.TURNED: f"turned {lie.turned_degrees:.0f} degrees on the bed{', lying on a side' if lie.on_side else ''}",
    }[lie.lies]
    said = f"The {piece.what}, {_size(piece.box)}, goes into the {printer.name} ({_size(printer.room)}) {how}"
    return _fits(Topic.PRINTER, f"{said}; {lie.spare_mm:.0f} mm are left above.")


def _too_small(piece: Piece, printers: list[Printer]) -> Reason:
    box = piece.box or (0.0, 0.0, 0.0)
    nearest = min(printers, key=lambda printer: lacks(box, printer.room))
    said = (
        f"The {piece.what}, {_size(box)}, does not go into the {nearest.name} ({_size(nearest.room)}): upright, lying "
        f"or turned on the bed, it is {max(lacks(box, nearest.room), 0.1):.1f} mm too long."
    )
    return _bars(Topic.PRINTER, said, "A printer with more room would do, or the part in two pieces.")


def _no_printer(volunteer: Volunteer) -> Reason:
    if broken := [each.name for each in volunteer.printers if each.state is PrinterState.OUT_OF_ORDER]:
        return _bars(Topic.PRINTER, f"Their {broken[0]} is out of order.", "It would do once it works again.")
    return _bars(Topic.PRINTER, "They have no printer on record.", "Record one if they have one.")


def _training(volunteer: Volunteer, job: Job) -> Iterator[Reason]:
    for skill in sorted(job.needs):
        if skill in volunteer.skills:
            yield _fits(Topic.TRAINING, f"They are trained: {skill.label}.")
        else:
            said = f"It takes somebody trained to {_TO[skill]}, and no such training of theirs is on record."
            yield _bars(Topic.TRAINING, said, "Train them, or record the training they had.")


_TO = {
    Skill.PRINT: "print",
    Skill.ASSEMBLE: "assemble",
    Skill.ELECTRONICS: "work on electronics",
    Skill.MEASURE: "measure",
    Skill.FIT: "fit",
    Skill.BENCH_CHECK: "check on the bench",
}


def _time(volunteer: Volunteer, job: Job, today: date) -> Iterator[Reason]:
    away = [each for each in volunteer.absences if each[1] >= today and each[0] <= max(job.needed_by, today)]
    for since, until in away:
        now = "are" if since <= today else "will be"
        yield _notes(Topic.ABSENCE, f"They {now} away from {full_day(since)} to {full_day(until)}.")
    if volunteer.in_hand >= volunteer.jobs_at_once:
        said = f"They have {volunteer.in_hand} in hand and take {volunteer.jobs_at_once} at once."
        yield _bars(Topic.JOBS, said, "They can be asked when one of those is handed over.")
    else:
        yield _fits(Topic.JOBS, f"They take {volunteer.jobs_at_once} at once and have {volunteer.in_hand} in hand.")
    hours = hours_of(volunteer, job)
    done = first_day(volunteer, today, hours)
    takes = f"It takes them about {hours:.1f} hours at {volunteer.hours_a_week:g} a week"
    if done is None:
        said = f"{takes}, and within {DAYS_AHEAD} days they have not as many free."
        yield _bars(Topic.HOURS, said, "More hours a week would do, or fewer days away.")
        return
    there = date.fromordinal(done.toordinal() + days_on_the_way(volunteer, job, today))
    late = (there - job.needed_by).days
    if late <= 0:
        yield _fits(
            Topic.HOURS, f"{takes}: it can be there by {full_day(there)}, in time for {full_day(job.needed_by)}."
        )
    else:
        days = f"{late} day{'s' if late > 1 else ''}"
        yield _notes(Topic.HOURS, f"{takes}: it can be there by {full_day(there)}, {days} after it is needed.")


def _vetting(volunteer: Volunteer, job: Job, today: date) -> Reason:
    until = volunteer.vetted_until
    if until is not None and until >= today:
        return _fits(
            Topic.VETTING, f"Their vetting for home visits is up to date; its review is due by {full_day(until)}."
        )
    said = "No vetting for home visits is on record"
    if until is not None:
        said = f"The review of their vetting was due by {full_day(until)} by the charity's policy"
    if job.visit:
        return _bars(Topic.VETTING, f"{said}, and this takes a visit.", "Have it reviewed, or let somebody else visit.")
    return _notes(Topic.VETTING, f"{said}, so they would post it and are not shown where it goes.")


def _distance(volunteer: Volunteer, job: Job, today: date) -> Reason:
    km = km_between(volunteer, job)
    if km is None:
        return _notes(Topic.DISTANCE, "How far away they are is not known: a town is missing.")
    said = f"They are about {rounded_km(km)} km away"
    if delivers(volunteer, job, today):
        return _fits(Topic.DISTANCE, f"{said} and travel up to {volunteer.travels_km:g}: they would bring it.")
    if job.visit and km > volunteer.travels_km:
        return _bars(
            Topic.DISTANCE,
            f"{said}, and this takes a visit; they travel up to {volunteer.travels_km:g}.",
            "Meet at a clinic, or ask whether they would travel for once.",
        )
    return _notes(Topic.DISTANCE, f"{said}; it would go by post.")


def _asked(volunteer: Volunteer, job: Job) -> Iterator[Reason]:
    if volunteer.id in job.declined:
        yield _bars(
            Topic.ANSWER, "They were asked for this and did not take it.", "Ring them if it is still worth asking."
        )
    if job.standing == volunteer.id:
        yield _notes(Topic.ANSWER, "They are being asked and have not answered yet.")
    if volunteer.id in job.used_to:
        yield _notes(Topic.ANSWER, "The family knows them: they made something for it before.")


def _check(volunteer: Volunteer) -> Iterator[Reason]:
    if Skill.BENCH_CHECK in volunteer.skills:
        yield _notes(Topic.CHECK, "If they make it, somebody else has to sign its check on the bench.")


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
