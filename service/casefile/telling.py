"""What happened in a case, told as events for the timeline of its page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from service.assembly.answers import PlacedPart
from service.casefile.events import Event, Line
from service.casefile.getting_on import gets_on
from service.casefile.schemas import CaseFile, ParticularsChange, StateChange
from service.devices.rules import Use
from service.devices.schemas import DeviceHistory, SocketView, SockReportView
from service.kit.days import full_day
from service.measurements.rules import Method
from service.measurements.schemas import MeasurementView, ReadingView, StruckView
from service.recipients.rules import CaseState, Purpose, Verdict
from service.recipients.schemas import ConsentView, RecipientView
from service.web.words import counted, listed, millimetres, socks, spoken

HOW = {
    Method.TAPE: "with a tape",
    Method.CAST: "from a cast",
    Method.SCAN: "from a scan",
    Method.CLINIC_LETTER: "by letter from a clinic",
    Method.FAMILY: "by the family",
}
_VERDICTS = {
    Verdict.SUITABLE: "A device is suitable",
    Verdict.NOT_YET: "A device is not suitable yet",
    Verdict.NOT: "A device is not suitable",
}
_PURPOSES = {
    Purpose.RECORDS: "keeping records",
    Purpose.DEVICE: "making and fitting the device",
    Purpose.FIRST_NAME: "telling the volunteer the first name",
    Purpose.PHOTOGRAPHS: "photographs",
    Purpose.STATISTICS: "figures that name nobody",
}
_PARTICULARS = {
    "birth_date": "The birth date",
    "sex": "The sex for the growth reference",
    "latex_allergy": "Latex allergy",
    "skin_allergies": "Skin allergies",
    "prescriber_name": "The prescriber",
}


def history(case: CaseFile, *, may_correct: bool) -> list[Event]:
    """Everything that happened, newest first; of one day, what was told last comes first.

    `may_correct` says whether the reader may correct measurements: others are not led to where that is done.
    """
    address = f"/recipients/{case.person.case_number}"
    events = [
        *(_session(session, address if may_correct else None) for session in case.sessions),
        *(_sock_report(report) for report in case.sock_reports),
        *(event for device in case.devices for event in _device(device, address)),
        *_parts(case.parts, address),
        *(_state(change) for change in case.states),
        *(_particular(change) for change in case.changes),
        *(event for consent in case.person.consents for event in _consent(consent)),
        *_notes(case.person),
        *gets_on(case.asks, case.goals, address),
    ]
    return sorted(events, key=lambda event: event.on, reverse=True)


def until(events: list[Event], before: date | None, most: int) -> tuple[list[Event], date | None]:
    """The newest events before a day, about `most` but every one of the last day, and that day if more follow."""
    older = [event for event in events if before is None or event.on < before]
    if len(older) <= most:
        return older, None
    last = older[most - 1].on
    shown = [event for event in older if event.on >= last]
    return shown, last if len(shown) < len(older) else None


def _session(session: MeasurementView, address: str | None) -> Event:
    by = f"by {session.taken_by}, " if session.taken_by else ""
    corrected = "".join(f"; {each.words}" for each in session.corrections)
    return Event(
        on=session.taken_on,
        shape="full",
        what=f"Measured {HOW[session.method]}",
        detail=f"{by}recorded by {session.recorded_by}{corrected}{f'. {session.note}' if session.note else ''}",
        href=f"{address}/measurements/{session.id}/correct" if address else None,
        lines=tuple(_reading(reading, address) for reading in session.readings),
    )


def _reading(reading: ReadingView, address: str | None) -> Line:
    spread = reading.spread_kg if reading.spread_mm is None else reading.spread_mm
    said = []
    if len(reading.repeats) > 1 and spread is not None:
        said.append(f"{counted(len(reading.repeats), 'reading')} within {spread:.1f}")
    if reading.doubts:
        said.append("surprising, confirmed by who measured")
    if reading.corrects is not None:
        said.append("put in place of the one struck through")
    if reading.struck:
        said = [_struck(reading.struck)]
    return Line(
        text=f"{reading.words}: {reading.size}",
        note=listed(said),
        struck=reading.struck is not None,
        href=None if reading.struck or not address else f"{address}/readings/{reading.id}/correct",
    )


def _sock_report(report: SockReportView) -> Event:
    felt = f"the socket felt {report.fit}"
    note = f". {report.note}" if report.note else ""
    return Event(
        on=report.on,
        shape="diamond",
        what=f"Worn with {socks(report.plies)}; {felt}",
        detail=f"{report.purpose}, recorded by {report.recorded_by}{note}",
        struck=_struck(report.struck) if report.struck else "",
    )


def _struck(struck: StruckView) -> str:
    return f"struck through by {struck.by}, {full_day(struck.at.date())}: {struck.why}"


def _device(device: DeviceHistory, address: str) -> Iterator[Event]:
    href = f"{address}/devices/{device.id}"
    name = f"the {device.side} {device.purpose} device"
    for socket in device.sockets:
        yield from _socket(socket, name, href)
    for setting in device.settings:
        value = f"{setting.value} {setting.unit}".strip()
        yield Event(setting.set_on, "bar", f"{setting.name} of {name} set to {value}", setting.note, href)
    if device.use is Use.STOPPED and device.stopped_on is not None:
        yield Event(device.stopped_on, "cross", f"Stopped using {name}", device.stopped_reason, href)


def _socket(socket: SocketView, device: str, href: str) -> Iterator[Event]:
    limits = [
        f"{spoken(limit.dimension)}{'' if limit.level_mm is None else f' at {limit.level_mm:g} mm'} of "
        f"{millimetres(limit.tight_at_mm)}"
        for limit in socket.limits
    ]
    worn = f"; worn with {socks(socket.socks_at_fitting)}" if socket.socks_at_fitting else ""
    fitted, detail = f"A socket was fitted to {device}", f"tight at a {listed(limits)}{worn}"
    if socket.mistaken and socket.ended_on is not None:
        by = f"recorded by mistake; struck through by {socket.ended_by}, {full_day(socket.ended_on)}: {socket.end_note}"
        yield Event(socket.fitted_on, "square", fitted, detail, href, struck=by)
        return
    yield Event(socket.fitted_on, "square", fitted, detail, href)
    if socket.ended_on is not None and socket.end_reason is not None:
        why = socket.end_reason.words
        yield Event(socket.ended_on, "cross", f"The socket of {device} came off: {why}", socket.end_note, href)


FEW = 2
"""So many parts of a device put in place or taken off on a day are told one by one; more are told together."""


def _parts(parts: Iterable[PlacedPart], address: str) -> Iterator[Event]:
    """Parts put in place and taken off; what was done to many of a device on a day, as at a fitting, is one event."""
    alike: dict[tuple[date, int, str, str], list[tuple[PlacedPart, Event]]] = {}
    for part in parts:
        for event in _part(part, address):
            why = "" if event.shape == "square" or part.came_off is None else part.came_off.words
            alike.setdefault((event.on, part.device, why, event.struck), []).append((part, event))
    for (on, device, why, struck), told in alike.items():
        if len(told) <= FEW or struck:
            yield from (event for _, event in told)
            continue
        first, event = told[0]
        done = f"came off: {why}" if why else "were put in place"
        what = f"{counted(len(told), 'part').capitalize()} of the {first.purpose} device {done}"
        names = (f"{part.title}: {part.version.name}" if part.version and not why else part.title for part, _ in told)
        lines = tuple(Line(name) for name in names)
        yield Event(on, event.shape, what, "", f"{address}/devices/{device}", lines, each_is="part")


def _part(part: PlacedPart, address: str) -> Iterator[Event]:
    """A part that was put in place, and that came off; one that was replaced on the same day is told by both."""
    href, where = f"{address}/parts-in-place/{part.place}", f"in the {part.purpose} device"
    put, detail = f"{part.title} was put in place", f"{where}{f'; {part.note}' if part.note else ''}"
    if part.version:
        put += f": {part.version.name}"
    if part.mistaken and part.until is not None:
        by = f"recorded by mistake; struck through by {part.ended_by}, {full_day(part.until)}: {part.end_note}"
        yield Event(part.since, "square", put, detail, href, struck=by)
        return
    yield Event(part.since, "square", put, detail, href)
    if part.until is not None and part.came_off is not None:
        said = f"{where}{f'; {part.end_note}' if part.end_note else ''}"
        yield Event(part.until, "cross", f"{part.title} came off: {part.came_off.words}", said, href)


def _state(change: StateChange) -> Event:
    if change.before is None:
        return Event(change.on, "ring", f"The case was opened, as {_stands(change.after)}", f"by {change.by}")
    return Event(
        change.on,
        "ring",
        f"The case became {_stands(change.after)}; it was {_stands(change.before)}",
        f"by {change.by}",
    )


def _stands(state: CaseState) -> str:
    return "an enquiry" if state is CaseState.ENQUIRY else state.value


def _particular(change: ParticularsChange) -> Event:
    before, after = _value(change.before), _value(change.after)
    return Event(
        change.on, "bar", f"{_PARTICULARS[change.field]}: now {after}", f"before that {before}; by {change.by}"
    )


def _value(value: str | bool | None) -> str:  # noqa: FBT001 the register's own answer to a question
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value or "nothing recorded"


def _consent(consent: ConsentView) -> Iterator[Event]:
    """A yes and its taking back, of which the consent's own row keeps the days."""
    to = f"{consent.kind.value.capitalize()} to {_PURPOSES[consent.purpose]}"
    yield Event(consent.given_on, "triangle", f"{to}, given by {consent.given_by}", consent.words)
    if consent.withdrawn_on is not None:
        yield Event(consent.withdrawn_on, "cross", f"{to} was withdrawn")


def _notes(person: RecipientView) -> Iterator[Event]:
    for note in person.suitability:
        watch = f". Watch for: {note.watch_for}" if note.watch_for else ""
        yield Event(note.noted_on, "triangle", _VERDICTS[note.verdict], f"says {note.noted_by}{watch}")
    for review in person.reviews:
        if review.held_on is not None:
            yield Event(review.held_on, "triangle", f"The review at {review.age} was held", review.outcome)
