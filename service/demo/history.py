"""Years of requests that were settled, with what was made for them: whole, on the day they were settled.

Told act by act, as all else is, they would take longer than the rest of the demo together. So this and `making.py`
write the rows that the actions would have left: the request with its parts and waits, the build with its moves, prints,
lots, checks, delivery, fitting and follow-ups. Left out are offers, messages, the single findings of checks, and the
audit of each step: it says once that a request was settled. What was handed over is in place already, by the use cases.
`tests/demo/test_history.py` holds it all to what the actions would have kept to.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.assembly.tables import PartLotRow, PartRow, PlaceRow, SocketPartRow
from service.audit.actions import note
from service.demo.making import Making, Piece, Span
from service.demo.telling import Act, Case, Event, Told
from service.parts.tables import VersionRow
from service.recipients.queries import seen_recipient
from service.requests.rules import Asker, RequestKind, RequestState, WaitsFor, WhatHappened, need, needed_by, part_key
from service.requests.tables import RequestPartRow, RequestRow, WaitRow

_FAMILY = "the family"
_ABOUT_NO_DEVICE = {RequestKind.FIRST_DEVICE, RequestKind.ADVICE}


def _past(told: Told, work: Work, case: Case, words: Event) -> None:
    """Write a request that was settled on the day of `work`, and what was made for it."""
    seen, span = seen_recipient(work, case.number), Span.until(told, work, words["asked"])
    gone = {slot: case.gone.get((words["key"], slot)) for slot in words.get("slots", [])}
    pieces = list(_pieces(work, case, words, gone))
    row = _request(work, span, words, work.session.get_one(SiteRow, seen.site_id))
    row.recipient_id = seen.id
    row.device_id = None if row.kind in _ABOUT_NO_DEVICE else case.devices[words["key"]]
    wanted = list(_wanted(pieces, words)) if row.kind is RequestKind.REPLACEMENT else []
    keys = [part_key(each.place_id, each.kind.value, each.digit, each.happened) for each in wanted]
    row.need = need(row.kind, seen.id, row.device_id, keys)
    work.session.add(row)
    work.session.flush()  # the id is needed
    for each in wanted:
        each.request_id = row.id
    work.session.add_all(wanted)
    if "wait" in words:
        first, last = (span.moment(ago).date() for ago in words["wait"])
        wait = {"waits_for": WaitsFor.FAMILY, "why": "A day that suits them.", "since": first, "until": last}
        work.session.add(WaitRow(request_id=row.id, **wait))
    if "made" in words:
        build = Making(work, told, span, row, words["made"]).write(case.devices[words["key"]], pieces)
        row.settled_why = f"Fitted on {work.today.isoformat()}, from build {build}."
    changes = {"state": [RequestState.AGREED.value, row.state.value], "why": ["", row.settled_why]}
    note(work, row.state.value, "request", subject_id=row.id, recipient_id=seen.id, changes=changes)


def _request(work: Work, span: Span, words: Event, site: SiteRow) -> RequestRow:
    kind, asker = RequestKind(words["kind"]), Asker(words["asker"])
    asked_at, usable = span.moment(span.asked), words.get("usable")
    return RequestRow(
        kind=kind,
        asker=asker,
        asked_by=_FAMILY if asker is Asker.FAMILY else work.actor.name,
        asked_at=asked_at,
        words=words["words"],
        colour=words.get("colour", ""),
        usable=usable,
        needed_by=needed_by(
            kind,
            asked_at.date(),
            usable=usable,
            harm=False,
            replacement_days=site.replacement_days,
            lead_days=site.lead_days,
        ),
        promised_on=span.moment(words["promised"]).date() if "promised" in words else None,
        state=RequestState.CLOSED if "closed" in words else RequestState.ANSWERED,
        settled_at=work.now,
        settled_by=work.actor.name,
        settled_why=words.get("closed") or words.get("note") or "Handed over.",
    )


def _pieces(work: Work, case: Case, words: Event, gone: Mapping[str, int | None]) -> Iterator[Piece]:
    """What was handed over, as it is in place since."""
    made = sa.select(PartRow, PartLotRow.lot_id, VersionRow).join(PartLotRow, PartLotRow.part_id == PartRow.id)
    made = made.outerjoin(VersionRow, VersionRow.id == PartRow.version_id)
    places = {case.places[words["key"], slot]: place for slot, place in gone.items()}
    if places:
        there = made.join(PlaceRow, PlaceRow.part_id == PartRow.id).add_columns(PlaceRow.id)
        for part, lot, version, place in work.session.execute(there.where(PlaceRow.id.in_(places))):
            yield Piece(part, lot, version, places[place])
    if words.get("socket"):
        worn = made.join(SocketPartRow, SocketPartRow.part_id == PartRow.id)
        for part, lot, version in work.session.execute(
            worn.where(SocketPartRow.socket_id == case.sockets[words["key"]])
        ):
            yield Piece(part, lot, version, None)


def _wanted(pieces: list[Piece], words: Event) -> Iterator[RequestPartRow]:
    for each in pieces:
        yield RequestPartRow(
            place_id=each.instead_of, happened=WhatHappened(words["happened"]), **each.particulars(), quantity=1
        )


ACTS: dict[str, Act] = {"past": _past}
