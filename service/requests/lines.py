"""Requests as SQL: what a line of the list is read from, and the order of triage, in one statement."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date
from typing import Any, NamedTuple

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.tables import SiteRow
from service.assembly.rules import part_called
from service.devices.rules import Use
from service.devices.tables import DeviceRow
from service.growth.leads import lead_days
from service.growth.tables import ForecastRow
from service.kit.db import days_between, plus_days
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow
from service.requests.rules import RequestKind, WhatHappened
from service.requests.schemas import RequestLine, TriageView
from service.requests.tables import RequestPartRow, RequestRow, WaitRow
from service.requests.triage import Decision, Facts, Triage, triage, waited_days

NO_DAY = date.max
"""Sorts after every day."""

WORDS: dict[RequestKind, str] = {
    RequestKind.FIRST_DEVICE: "a first device",
    RequestKind.NEXT_SOCKET: "the next socket",
    RequestKind.REPLACEMENT: "a replacement",
    RequestKind.ADJUSTMENT: "an adjustment",
    RequestKind.COLOUR: "a new colour",
    RequestKind.ADVICE: "advice",
}

HAPPENED: dict[WhatHappened, str] = {
    WhatHappened.BROKEN: "broken",
    WhatHappened.LOST: "lost",
    WhatHappened.LOOSE: "loose",
    WhatHappened.LINE: "a line that snapped or slipped",
    WhatHappened.CHARGE: "holds no charge",
    WhatHappened.SPARE: "as a spare",
    WhatHappened.NOTICE: "after a safety notice",
}

_OPEN_WAIT = sa.orm.aliased(WaitRow)


class Order(NamedTuple):
    """What requests are sorted by: place, day of tightness, the day the clock would have begun had it never stood."""

    rank: sa.ColumnElement[int]
    tight_on: sa.ColumnElement[date]
    counts_from: sa.ColumnElement[date]
    id: Any


def _tight_on() -> sa.ColumnElement[date | None]:
    """What the newest forecast says now, or what was known when it was asked."""
    return sa.case((ForecastRow.id.is_not(None), ForecastRow.p50), else_=RequestRow.tight_on)


def _stood(today: date) -> sa.ScalarSelect[int]:
    days = days_between(WaitRow.since, sa.func.coalesce(WaitRow.until, sa.literal(today, sa.Date), type_=sa.Date))
    total = sa.func.coalesce(sa.func.sum(days), 0, type_=sa.Integer)
    return sa.select(total).where(WaitRow.request_id == RequestRow.id).correlate(RequestRow).scalar_subquery()


def order(today: date) -> Order:
    """The order of triage, as `triage.rank_of` has it."""
    tight = _tight_on()
    soon = tight <= plus_days(sa.literal(today, sa.Date), lead_days())
    computed = sa.case((RequestRow.harm, 1), (RequestRow.usable.is_(False), 2), (soon, 3), else_=4)
    asked_on = sa.cast(sa.func.date(RequestRow.asked_at), sa.String)
    return Order(
        sa.func.coalesce(RequestRow.rank, computed, type_=sa.Integer),
        sa.func.coalesce(tight, sa.literal(NO_DAY, sa.Date), type_=sa.Date),
        plus_days(asked_on, _stood(today)),
        RequestRow.id,
    )


def lines(work: Work) -> sa.Select[Any]:
    """Every request of the cases that may be seen, with what a line says of it."""
    spare = sa.exists().where(
        DeviceRow.recipient_id == RequestRow.recipient_id,
        DeviceRow.use == Use.SPARE,
        DeviceRow.id.is_distinct_from(RequestRow.device_id),
    )
    device = sa.orm.aliased(DeviceRow)
    newest = (ForecastRow.device_id == RequestRow.device_id, ForecastRow.is_newest)
    keys = order(work.today)
    return (
        sa.select(
            RequestRow.__table__,
            *(RecipientRow.case_number, RecipientRow.given_name, RecipientRow.family_name, RecipientRow.town_id),
            *(SiteRow.code.label("site"), SiteRow.name.label("site_name"), lead_days().label("lead_days")),
            *(device.side, device.purpose),
            *(_OPEN_WAIT.waits_for, _OPEN_WAIT.since.label("waits_since")),
            _stood(work.today).label("stood_days"),
            _tight_on().label("now_tight_on"),
            spare.label("has_spare"),
            *(keys.rank.label("key_rank"), keys.tight_on.label("key_tight"), keys.counts_from.label("key_from")),
        )
        .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .outerjoin(device, device.id == RequestRow.device_id)
        .outerjoin(ForecastRow, sa.and_(RequestRow.kind == RequestKind.NEXT_SOCKET, *newest))
        .outerjoin(_OPEN_WAIT, sa.and_(_OPEN_WAIT.request_id == RequestRow.id, _OPEN_WAIT.until.is_(None)))
        .where(visible(work.actor, work.today))
    )


def waits_for(who: str) -> sa.ColumnElement[bool]:
    """Requests of `lines` that wait for somebody now."""
    return _OPEN_WAIT.waits_for == who


def parts_of(work: Work, requests: Collection[int]) -> defaultdict[int, list[RequestPartRow]]:
    """The parts that requests name, by the requests' ids."""
    found: defaultdict[int, list[RequestPartRow]] = defaultdict(list)
    wanted = sa.select(RequestPartRow).where(RequestPartRow.request_id.in_(requests)).order_by(RequestPartRow.id)
    for row in work.session.scalars(wanted) if requests else ():
        found[row.request_id].append(row)
    return found


def triaged(work: Work, row: Any) -> Triage:
    """The place of a row of `lines`."""
    facts = Facts(
        harm=row.harm,
        usable=row.usable,
        asked_on=row.asked_at.date(),
        tight_on=row.now_tight_on,
        lead_days=row.lead_days,
        stood_days=row.stood_days,
        has_spare=row.has_spare,
    )
    decision = Decision(row.rank, row.rank_why, row.rank_by or "") if row.rank is not None else None
    return triage(facts, work.today, decision)


def line(work: Work, row: Any, parts: Iterable[RequestPartRow]) -> RequestLine:
    """A row of `lines` as it is shown."""
    return RequestLine.model_validate(fields(work, row, parts))


def fields(work: Work, row: Any, parts: Iterable[RequestPartRow]) -> dict[str, Any]:
    """The fields of a line."""
    placed = triaged(work, row)
    asked_on = row.asked_at.date()
    ended = row.settled_at.date() if row.settled_at is not None else work.today
    return {
        **row._mapping,
        "device": row.device_id,
        "what": in_words(row.kind, parts, row.colour),
        "tight_on": row.now_tight_on,
        "triage": TriageView(rank=placed.rank, why=placed.why, by=placed.by),
        "waited_days": waited_days(asked_on, ended, row.stood_days),
    }


def in_words(kind: RequestKind, parts: Iterable[RequestPartRow], colour: str) -> str:
    """What is asked for: "index finger broken, palm loose", or "the next socket"."""
    named = [part_in_words(part) for part in parts]
    if named:
        return ", ".join(named)
    return f"{WORDS[kind]}: {colour}" if kind is RequestKind.COLOUR and colour else WORDS[kind]


def part_in_words(part: RequestPartRow) -> str:
    """A part and what became of it: "index finger broken", "2 index fingers as a spare" as "index finger (2) …"."""
    many = f" ({part.quantity})" if part.quantity > 1 else ""
    said = part.what if part.kind.value == "other" and part.what else part_called(part.kind, part.digit)
    separate = ": " if part.happened is WhatHappened.LINE else " "
    return f"{said}{many}{separate}{HAPPENED[part.happened]}"
