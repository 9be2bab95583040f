"""Two requests about the same made into one, and one about several things made into two."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, Invalid
from service.requests.keeping import lock_case, own, settle
from service.requests.lines import part_in_words, parts_of
from service.requests.rules import RequestKind, RequestState, need, part_key
from service.requests.schemas import JoinRequests, SplitRequest
from service.requests.tables import RequestPartRow, RequestRow

_PART = (
    *("place_id", "kind", "what", "digit", "side", "happened", "version_id", "scale_across", "scale_along"),
    *("material", "colour", "quantity"),
)
_COPIED = (
    *("recipient_id", "device_id", "kind", "asker", "asked_by", "asked_at", "words", "colour", "usable", "harm"),
    *("needed_by", "tight_on", "promised_on", "rank", "rank_why", "rank_by", "state"),
)


def join(work: Work, request_id: int, command: JoinRequests) -> int:
    """Join a request into the one about the same that was asked first, which takes over its parts and its urgency.

    The words of both stay as they were. Returns the id of the first one; raises Invalid for one of another case, about
    something else, or asked later.
    """
    lock_case(work, request_id)
    # Locked in the order of their ids, so that two people who join them both ways do not wait for one another.
    rows = {each: own(work, each) for each in sorted({request_id, command.into})}
    row, first = rows[request_id], rows[command.into]
    if (problem := _joining_problem(row, first)) is not None:
        raise Invalid.at("into", problem)
    parts = parts_of(work, [row.id, first.id])
    known = {_key(part) for part in parts[first.id]}
    for part in parts[row.id]:
        if _key(part) not in known:
            work.session.add(RequestPartRow(request_id=first.id, **_copied(part, _PART)))
    first.harm = first.harm or row.harm
    first.usable = False if row.usable is False else first.usable if first.usable is not None else row.usable
    first.needed_by = min(first.needed_by, row.needed_by)
    row.joined_into_id = first.id
    settle(work, row, RequestState.CLOSED, f"Joined into request {first.id}, which is about the same.")
    changes = {"request": [None, row.id]}
    note(work, "joined", "request", subject_id=first.id, recipient_id=first.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    _name_need(work, first)
    return first.id


def split(work: Work, request_id: int, command: SplitRequest) -> int:
    """Make a request of its own of some parts of a request; returns the id of the new one.

    Raises Invalid unless the parts are its own and some of them stay.
    """
    lock_case(work, request_id)
    row = own(work, request_id)
    parts = {part.id: part for part in parts_of(work, [row.id])[row.id]}
    going = [parts[each] for each in dict.fromkeys(command.parts) if each in parts]
    if len(going) != len(set(command.parts)):
        raise Invalid.at("parts", "Choose among the parts of this request.")
    if len(going) == len(parts):
        raise Invalid.at("parts", "Leave at least one part in this request: there is nothing to split off otherwise.")
    new = RequestRow(**_copied(row, _COPIED), need=f"{row.need} from {row.id}", split_from_id=row.id)
    work.session.add(new)
    work.session.flush()  # the id is needed below
    for part in going:
        part.request_id = new.id
    work.session.flush()  # the needs are read from the parts
    _name_need(work, row)
    _name_need(work, new)
    changes = {"request": [row.id, new.id], "parts": ["", ", ".join(part_in_words(part) for part in going)]}
    for each in (row, new):
        note(work, "split", "request", subject_id=each.id, recipient_id=each.recipient_id, changes=changes)
    work.session.flush()  # what is read next finds it
    return new.id


def _joining_problem(row: RequestRow, first: RequestRow) -> str | None:
    if row.id == first.id:
        return "A request is not joined into itself. Give the number of the other one."
    if row.recipient_id != first.recipient_id:
        return "That request is of another case. Only requests of one case are joined."
    if row.kind is not first.kind or row.device_id != first.device_id:
        return "That request is about something else: another kind of thing, or another device."
    if (row.asked_at, row.id) < (first.asked_at, first.id):
        return f"That one was asked later. Join request {first.id} into request {row.id}, so that the clock stays true."
    return None


def _name_need(work: Work, row: RequestRow) -> None:
    """Say anew what a request is about, once its parts have changed."""
    if row.kind is not RequestKind.REPLACEMENT:
        return
    keys = [_key(part) for part in parts_of(work, [row.id])[row.id]]
    named = need(row.kind, row.recipient_id, row.device_id, keys)
    same = sa.select(RequestRow.id).where(
        RequestRow.need == named, RequestRow.settled_at.is_(None), RequestRow.id != row.id
    )
    if (other := work.session.scalars(same).first()) is not None:
        raise Conflict(f"Request {other} asks for exactly these parts already. Join the two instead.")
    row.need = named
    work.session.flush()  # the unique index speaks now, not later


def _key(part: RequestPartRow) -> str:
    return part_key(part.place_id, part.kind.value, part.digit, part.happened)


def _copied(row: Any, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: getattr(row, name) for name in names}
