"""What recording, ending and putting back a socket have in common; `actions.py` has the use cases."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.audit.actions import note
from service.devices import rules
from service.devices.plausibility import LimitJudge
from service.devices.queries import NEWEST_FIRST, STANDING
from service.devices.rules import EndReason, StoppedWhy
from service.devices.schemas import AddLimit, AddSocket, EndSocket
from service.devices.tables import DeviceRow, SocketRow, SockReportRow
from service.kit.days import full_day
from service.kit.errors import Conflict, Doubt, Doubted, FieldError, Invalid
from service.measurements.queries import readings_for
from service.measurements.rules import Person, Place
from service.recipients.rules import past_day_problem
from service.recipients.schemas import SeenRecipient


def check_past(work: Work, seen: SeenRecipient, field: str, day: date) -> None:
    """Raise Invalid for a day that has not come or is before the recipient was born."""
    if (problem := past_day_problem(day, seen.birth_date, work.today)) is not None:
        raise Invalid.at(field, problem)


def judged_limits(work: Work, seen: SeenRecipient, row: DeviceRow, command: AddSocket) -> list[list[str]]:
    """The doubts about each limit, which are only returned if there are none or somebody confirmed them.

    Raises Invalid for limits and socks that cannot be.
    """
    known = [each.known for each in readings_for(work, [seen.id])[seen.id]]
    judge = LimitJudge(Person(seen.birth_date, seen.sex, seen.limbs), command.fitted_on, known)
    wrong = []
    for index, limit in enumerate(command.limits):
        field, message = _limit_problem(row, judge, limit, command.limits[:index])
        if message:
            wrong.append(FieldError(f"limits.{index}.{field}", message))
    if (problem_with_socks := rules.socks_problem(command.socks_at_fitting)) is not None:
        wrong.append(FieldError("socks_at_fitting", problem_with_socks))
    if wrong:
        raise Invalid("Nothing was stored. Some values need correcting.", fields=tuple(wrong))
    doubts = [judge.doubts(_place(row, judge.person, limit), limit.tight_at_mm) for limit in command.limits]
    if any(doubts) and not command.confirmed:
        raise Doubted(
            tuple(Doubt(f"limits.{i}.{each.field}", each.message) for i, of in enumerate(doubts) for each in of)
        )
    return [[each.message for each in of] for of in doubts]


def _limit_problem(
    row: DeviceRow, judge: LimitJudge, limit: AddLimit, before: Sequence[AddLimit]
) -> tuple[str, str | None]:
    """What is wrong with one limit: the field and a sentence, or None for the sentence."""
    place = _place(row, judge.person, limit)
    problem = rules.limit_problem(
        limit.dimension, limit.side, limit.level_mm, device_side=row.side, counted_from=place.counted_from
    )
    if problem is not None:
        return problem.field, problem.message
    if (limit.dimension, limit.level_mm) in [(each.dimension, each.level_mm) for each in before]:
        return "dimension", "This limit is given twice. Keep the one that is right."
    return "tight_at_mm", judge.impossible(place, limit.tight_at_mm)


def _place(row: DeviceRow, person: Person, limit: AddLimit) -> Place:
    return Place.on_limb(person.limbs.get(row.side), limit.dimension, row.side, limit.level_mm)


def end_previous(work: Work, seen: SeenRecipient, row: DeviceRow, command: AddSocket) -> None:
    """End the socket that is in place as `previous` says; raises Conflict when there is one and it says nothing."""
    in_place = work.session.scalars(
        sa.select(SocketRow).where(SocketRow.device_id == row.id, SocketRow.ended_on.is_(None))
    ).one_or_none()
    if in_place is None:
        if command.previous is not None:
            raise Invalid.at("previous", "No socket is in place, so there is none to end. Leave this out.")
        return
    if command.previous is None:
        raise Conflict(
            f"The socket fitted on {full_day(in_place.fitted_on)} is still in place. Say in `previous` when and why it "
            "came off, or end it first."
        )
    ending = command.previous.model_dump() | {"ended_on": command.previous.ended_on or command.fitted_on}
    end(work, seen, in_place, EndSocket(**ending), within="previous.")
    work.session.flush()  # the database allows one socket in place, so the old one goes before the new one comes


def end(work: Work, seen: SeenRecipient, socket: SocketRow, command: EndSocket, *, within: str = "") -> None:
    """Take a socket out of its device, or strike it through if it never was in it; `within` is where the fields are."""
    day = command.ended_on or work.today
    if command.end_reason is EndReason.MISTAKE:
        if not command.note:
            raise Invalid.at(f"{within}note", "Say what was wrong with this socket, for whoever reads it later.")
        day = work.today
        changes = {
            "end_reason": [socket.end_reason, command.end_reason],
            "ended_on": [socket.ended_on and socket.ended_on.isoformat(), day.isoformat()],
            "why": [None, command.note],
        }
        note(work, "struck", "socket", subject_id=socket.id, recipient_id=seen.id, changes=changes)
    else:
        check_past(work, seen, f"{within}ended_on", day)
        if day < socket.fitted_on:
            said = f"That is before the socket was fitted, on {full_day(socket.fitted_on)}. Check the day."
            raise Invalid.at(f"{within}ended_on", said)
        note(work, "ended", "socket", subject_id=socket.id, recipient_id=seen.id)
    socket.ended_on, socket.end_reason = day, command.end_reason
    socket.end_note, socket.ended_by = command.note, work.actor.name


def worn_on(work: Work, device_id: int, day: date) -> int | None:
    """The socket of a device that was in place on a day; of two that changed places that day, the one that came."""
    in_place = sa.or_(SocketRow.ended_on.is_(None), SocketRow.ended_on >= day)
    standing = sa.select(SocketRow.id).where(SocketRow.device_id == device_id, STANDING)
    return work.session.scalar(standing.where(SocketRow.fitted_on <= day, in_place).order_by(*NEWEST_FIRST).limit(1))


def take_reports(work: Work, socket: SocketRow) -> None:
    """Give a socket the reports of the days on which, as is now known, it was worn.

    Those are the days after its fitting. A report of the day itself stays with the socket it was recorded for, unless
    that one was a mistake: people report what was worn before the visit, then the new socket is fitted.
    """
    mistakes = sa.select(SocketRow.id).where(SocketRow.device_id == socket.device_id, ~STANDING)
    that_day = sa.and_(SockReportRow.worn_on == socket.fitted_on, SockReportRow.socket_id.in_(mistakes))
    work.session.execute(
        sa.update(SockReportRow)
        .where(SockReportRow.device_id == socket.device_id, sa.or_(SockReportRow.worn_on > socket.fitted_on, that_day))
        .values(socket_id=socket.id)
    )


def why_stopped(row: DeviceRow, given: dict[str, Any]) -> dict[str, Any]:
    """Why a device is stopped, in a word and in words; one of the few reasons is words enough, unless it is another."""
    why = given.get("stopped_why", row.stopped_why)
    # A new word does not go with the old words.
    before = row.stopped_reason if why is row.stopped_why else ""
    reason = given.get("stopped_reason", before)
    if not reason and why not in {None, StoppedWhy.OTHER}:
        reason = why.label
    if not reason:
        raise Invalid.at("stopped_reason", "Say why the device is no longer used.")
    return {"stopped_why": why, "stopped_reason": reason}
