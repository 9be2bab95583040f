"""Notices from the database into views, narrowed to the cases the actor may see."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.assembly.rules import lot_words, part_called
from service.builds.rows import words_of
from service.builds.tables import BuildRow
from service.devices.rules import Use
from service.kit.paging import Page, decode, encode
from service.lots.rules import LotState
from service.lots.tables import LotRow
from service.notices.rows import held_rows, new_row, open_on_the_same, row_of, what_words
from service.notices.rules import NoticeKind, Todo
from service.notices.schemas import (
    AffectedBuild,
    AffectedDevice,
    AffectedPart,
    AffectedStock,
    AffectedView,
    Concerned,
    NoticeAbout,
    NoticeFilter,
    NoticeLine,
    NoticesOpen,
    NoticeView,
    OwnNotice,
    ReplacedCase,
)
from service.notices.tables import NoticeCaseRow, NoticeRow
from service.notices.tracing import builds_of
from service.notifications.families import FamilyMessage
from service.notifications.tables import MessageRow
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow
from service.requests.rules import UNSETTLED, RequestKind
from service.requests.tables import RequestPartRow, RequestRow
from service.volunteers.tables import VolunteerRow


@usecase(May.SEE_NOTICES)
def notices(work: Work, wanted: NoticeFilter) -> Page[NoticeLine]:
    """Notices, newest first: the open ones, or all."""
    found = sa.select(NoticeRow).order_by(NoticeRow.id.desc()).limit(wanted.limit + 1)
    if not wanted.all:
        found = found.where(NoticeRow.closed_at.is_(None))
    if wanted.cursor is not None:
        found = found.where(NoticeRow.id < decode(wanted.cursor, (int,))[0])
    rows = work.session.scalars(found).all()
    shown = rows[: wanted.limit]
    more = encode((shown[-1].id,)) if len(rows) > len(shown) else None
    return Page(items=[_line(work, row) for row in shown], next=more)


@usecase(May.SEE_NOTICES)
def notice(work: Work, notice_id: int) -> NoticeView:
    """All of a notice; raises NotFound."""
    row = row_of(work, notice_id)
    line = _line(work, row)
    return NoticeView(
        **line.model_dump(),
        version=row.version_id,
        lot=row.lot_id,
        printer=row.printer_id,
        closed_by=row.closed_by,
        outcome=row.outcome,
        affected=affected(work, notice_id),
    )


@usecase(May.SEE_NOTICES)
def affected(work: Work, notice_id: int) -> AffectedView:
    """Every device that holds what a notice is about, of the cases the actor may see, and how many there are else."""
    row = row_of(work, notice_id)
    held = held_rows(work, row)
    mine = _seen(work, {each.recipient_id for each in held})
    told = {each.recipient_id: each for each in _told(work, row)}
    reached = _reached(work, row)
    asked = _asked(work, {each.device for each in held})
    devices = []
    for (recipient_id, _device), group in groupby(held, key=lambda each: (each.recipient_id, each.device)):
        if recipient_id in mine:
            view = _device_view(list(group), told.get(recipient_id), asked)
            devices.append(view if recipient_id in reached else view.model_copy(update={"told_at": None}))
    still = {each.recipient_id for each in held}
    everywhere = {each.device for each in held}
    return AffectedView(
        items=devices,
        replaced=_replaced(work, row, still),
        builds=_builds(work, row),
        stock=_stock(work, row),
        remaining=len(devices),
        elsewhere=len(everywhere) - len(devices),
        told=len(reached),
        answered=sum(each.answer is not None for each in told.values()),
    )


@usecase(May.KEEP_NOTICES)
def concerned(work: Work, about: NoticeAbout) -> Concerned:
    """What a notice would be about, said before it is opened; raises Invalid for what there is not."""
    row = new_row(work, about)
    held = held_rows(work, row)
    mine = _seen(work, {each.recipient_id for each in held})
    return Concerned(
        kind=row.kind,
        what=what_words(work, row),
        devices=len({each.device for each in held}),
        families=len({each.recipient_id for each in held}),
        elsewhere=len({each.device for each in held if each.recipient_id not in mine}),
        builds=work.session.scalar(sa.select(sa.func.count()).select_from(builds_of(row).subquery())) or 0,
        already=open_on_the_same(work, row),
    )


@usecase(May.SEE_NOTICES)
def notices_open(work: Work) -> NoticesOpen:
    """How many are open, and how many devices remain of the cases the actor may see; each counted once."""
    rows = work.session.scalars(sa.select(NoticeRow).where(NoticeRow.closed_at.is_(None))).all()
    held = {(each.device, each.recipient_id) for row in rows for each in held_rows(work, row)}
    mine = _seen(work, {recipient for _device, recipient in held})
    return NoticesOpen(count=len(rows), remaining=sum(recipient in mine for _device, recipient in held))


@usecase(May.SPEAK_AS_FAMILY)
def own_notices(work: Work) -> list[OwnNotice]:
    """The open notices that concern a device of the family that asks, what is to be stopped first."""
    rows = work.session.scalars(sa.select(NoticeRow).where(NoticeRow.closed_at.is_(None)).order_by(NoticeRow.id)).all()
    own = work.actor.recipient_id
    found = []
    for row in rows:
        if own in {each.recipient_id for each in held_rows(work, row)}:
            told = work.session.get(NoticeCaseRow, (row.id, own))
            found.append(OwnNotice(id=row.id, todo=row.todo, why=row.why, answer=told.answer if told else None))
    return sorted(found, key=lambda each: each.todo is not Todo.STOP)


def _line(work: Work, row: NoticeRow) -> NoticeLine:
    held = held_rows(work, row)
    mine = _seen(work, {each.recipient_id for each in held})
    return NoticeLine(
        id=row.id,
        kind=row.kind,
        what=what_words(work, row),
        todo=row.todo,
        why=row.why,
        from_on=row.from_on,
        until_on=row.until_on,
        opened_at=row.opened_at,
        opened_by=row.opened_by,
        closed_at=row.closed_at,
        remaining=len({each.device for each in held if each.recipient_id in mine}),
        remaining_everywhere=len({each.device for each in held}),
    )


def _seen(work: Work, people: set[int]) -> set[int]:
    found = sa.select(RecipientRow.id).where(RecipientRow.id.in_(people), visible(work.actor, work.today))
    return set(work.session.scalars(found)) if people else set()


def _told(work: Work, row: NoticeRow) -> Sequence[NoticeCaseRow]:
    return work.session.scalars(sa.select(NoticeCaseRow).where(NoticeCaseRow.notice_id == row.id)).all()


def _reached(work: Work, row: NoticeRow) -> set[int]:
    """The families to whom a message was written: where nobody is on record, nobody was told."""
    message = FamilyMessage.NOTICE_STOP if row.todo is Todo.STOP else FamilyMessage.NOTICE_LOOK
    to_them = MessageRow.key.startswith(f"{message.value}:{row.id}:", autoescape=True)
    found = sa.select(MessageRow.recipient_id).where(to_them, MessageRow.recipient_id.is_not(None)).distinct()
    return {each for each in work.session.scalars(found) if each is not None}


def _device_view(
    rows: Sequence[Any], told: NoticeCaseRow | None, asked: dict[tuple[int, int | None], int]
) -> AffectedDevice:
    first = rows[0]
    requests = [asked.get((first.device, each.place)) for each in rows]
    return AffectedDevice(
        case_number=first.case_number,
        given_name=first.given_name,
        device=first.device,
        side=first.side,
        purpose=first.purpose,
        spare=first.use is Use.SPARE,
        parts=[
            AffectedPart.model_validate({**each._mapping, "called": part_called(each.kind, each.digit)})
            for each in rows
        ],
        told_at=told.told_at if told else None,
        answer=told.answer if told else None,
        words=told.words if told else "",
        answered_at=told.answered_at if told else None,
        request=next((each for each in requests if each is not None), None),
    )


def _asked(work: Work, devices: set[int]) -> dict[tuple[int, int | None], int]:
    """The request that is open for each place of some devices, and under no place for each one's next socket."""
    rows = work.session.execute(
        sa.select(RequestRow.id, RequestRow.device_id, RequestRow.kind, RequestPartRow.place_id)
        .outerjoin(RequestPartRow, RequestPartRow.request_id == RequestRow.id)
        .where(RequestRow.device_id.in_(devices), RequestRow.state.in_(UNSETTLED))
    )
    return {
        (row.device_id, row.place_id): row.id
        for row in rows
        if row.place_id is not None or row.kind is RequestKind.NEXT_SOCKET
    }


def _replaced(work: Work, row: NoticeRow, still: set[int]) -> list[ReplacedCase]:
    rows = work.session.execute(
        sa.select(NoticeCaseRow, RecipientRow.case_number, RecipientRow.given_name)
        .join(RecipientRow, RecipientRow.id == NoticeCaseRow.recipient_id)
        .where(NoticeCaseRow.notice_id == row.id, visible(work.actor, work.today))
        .order_by(RecipientRow.case_number)
    )
    return [
        ReplacedCase(case_number=number, given_name=name, answer=told.answer, answered_at=told.answered_at)
        for told, number, name in rows
        if told.recipient_id not in still
    ]


def _builds(work: Work, row: NoticeRow) -> list[AffectedBuild]:
    found = builds_of(row)
    if Role.SYSTEM not in work.actor.roles:
        found = found.where(BuildRow.site_id.in_(work.actor.sites))
    rows = work.session.scalars(found).all()
    words = words_of(work, {each.id for each in rows})
    makers = {each.volunteer_id for each in rows} - {None}
    whose = sa.select(VolunteerRow.id, VolunteerRow.name).where(VolunteerRow.id.in_(makers))
    names = {each.id: each.name for each in work.session.execute(whose)}
    return [
        AffectedBuild(
            build=each.id,
            state=each.state.label,
            volunteer_name=names.get(each.volunteer_id or 0),
            what=words.get(each.id, ""),
        )
        for each in rows
    ]


def _stock(work: Work, row: NoticeRow) -> list[AffectedStock]:
    """The lot itself, or the lots of a printer's prints, while something of them may be left."""
    if row.kind is not NoticeKind.LOT:
        return []
    left = sa.select(LotRow).where(LotRow.id == row.lot_id, LotRow.state != LotState.USED_UP)
    if Role.SYSTEM not in work.actor.roles:
        left = left.where(LotRow.site_id.in_(work.actor.sites))
    return [
        AffectedStock(lot=lot.id, called=lot_words(lot.what, lot.colour, lot.maker, lot.batch), state=lot.state.label)
        for lot in work.session.scalars(left)
    ]
