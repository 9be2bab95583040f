"""Opening builds, choosing what is made, and logging prints. Moves that something may block are `gate/`'s."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.builds import choosing
from service.builds.keeping import items_of, move, own_to_make, write_uses
from service.builds.printers import printed_on, printer_at, volunteer_at
from service.builds.queries import build
from service.builds.rules import UNDER_WAY, BuildState
from service.builds.schemas import BuildView, ChangeBuild, ChooseItems, DiscardPrint, LogPrint, OpenBuild, UseLots
from service.builds.tables import BuildItemRow, BuildRow, PrintRow, UseRow
from service.devices.tables import DeviceRow
from service.kit.errors import Conflict, Invalid, NotFound
from service.matching.rules import OfferState
from service.matching.tables import OfferRow
from service.recipients.scope import visible
from service.recipients.tables import LimbRow, RecipientRow
from service.requests.rules import RequestKind, RequestState, settled_problem
from service.requests.tables import RequestRow

NOT_NOW = "Prints are logged while it is being made. This build is {}: {}"


@usecase(May.MAKE_BUILDS)
def open_build(work: Work, command: OpenBuild) -> BuildView:
    """Begin what answers a request; raises NotFound for a request not theirs to see.

    Raises Conflict, naming the first, while one is under way for it, and Invalid for what cannot be made.
    """
    asked = _request(work, command.request)
    row = _row(work, asked, command.volunteer, command.deadline)
    row.remarks = command.remarks
    _write(work, row)
    row.printer_id = printer_at(work, row, command.printer)
    items = choosing.asked_for(work, row) if command.items is None else choosing.chosen(work, row, command.items)
    work.session.add_all(items)
    work.session.flush()  # the view reads what was just written
    return build(work, row.id)


@usecase(May.KEEP_BUILDS)
def open_for_offer(work: Work, offer_id: int) -> None:
    """Begin what a volunteer agreed to make, once; nothing when it stands no more, or needs nothing made."""
    offer = work.session.get(OfferRow, offer_id)
    if offer is None or offer.state is not OfferState.ACCEPTED:
        return
    asked = work.session.get_one(RequestRow, offer.request_id, with_for_update=True)
    if asked.settled_at is not None or asked.kind in {RequestKind.ADVICE, RequestKind.ADJUSTMENT}:
        return
    row = _row(work, asked, offer.volunteer_id, offer.deadline)
    row.offer_id, row.printer_id = offer.id, offer.printer_id
    try:
        _write(work, row)
    except Conflict:
        return  # somebody opened it by hand
    work.session.add_all(choosing.asked_for(work, row))
    work.session.flush()


@usecase(May.KEEP_BUILDS)
def drop_unneeded(work: Work, request_id: int) -> None:
    """Drop what is not begun of a request that is settled or whose volunteer was taken off it."""
    rows = sa.select(BuildRow).where(BuildRow.request_id == request_id, BuildRow.state == BuildState.PLANNED)
    for row in work.session.scalars(rows.with_for_update()).all():
        asked = work.session.get_one(RequestRow, request_id)
        offer = work.session.get(OfferRow, row.offer_id) if row.offer_id is not None else None
        over = asked.settled_at is not None or (offer is not None and offer.state is not OfferState.ACCEPTED)
        if over:
            move(work, row, BuildState.DROPPED, "It is not needed any more.")


@usecase(May.MAKE_BUILDS)
def choose_items(work: Work, build_id: int, command: ChooseItems) -> BuildView:
    """Choose what is to be made; raises Conflict once something was printed of it."""
    row = own_to_make(work, build_id)
    if row.state not in {BuildState.PLANNED, BuildState.MAKING, BuildState.SENT_BACK}:
        raise Conflict(f"This build is {row.state.label}. What it is made of is not chosen any more.")
    before = items_of(work, row.id)
    if work.session.scalar(sa.select(sa.func.count()).where(PrintRow.build_id == row.id)):
        raise Conflict("Prints of these items are on record. Drop this build, and open another for the request.")
    work.session.execute(sa.delete(UseRow).where(UseRow.build_id == row.id))
    work.session.execute(sa.delete(BuildItemRow).where(BuildItemRow.build_id == row.id))
    work.session.add_all(choosing.chosen(work, row, command.items))
    note(
        work,
        "chose",
        "build",
        subject_id=row.id,
        recipient_id=row.recipient_id,
        changes={
            "items": [[_named(each) for each in before], [each.model_dump(mode="json") for each in command.items]]
        },
    )
    work.session.flush()  # the view reads what was just written
    return build(work, build_id)


@usecase(May.MAKE_BUILDS)
def change_build(work: Work, build_id: int, command: ChangeBuild) -> BuildView:
    """Change who makes it, on which printer, by when, or its remarks; raises Conflict once it is over."""
    row = own_to_make(work, build_id)
    if row.state not in UNDER_WAY:
        raise Conflict(f"This build is {row.state.label}, so it stays as it was.")
    before = _particulars(row)
    if command.volunteer is not None and command.volunteer != row.volunteer_id:
        if not work.actor.can(May.ORDER_REQUESTS):
            raise Invalid.at("volunteer", "Only a coordinator gives it to somebody else. Ring yours.")
        if row.state is not BuildState.PLANNED:
            raise Conflict("It is begun, so its maker stays on record. Drop it, and open another.")
        row.volunteer_id = volunteer_at(work, row.site_id, command.volunteer)
    row.printer_id = printer_at(work, row, command.printer) if command.printer is not None else row.printer_id
    row.deadline = command.deadline or row.deadline
    row.remarks = row.remarks if command.remarks is None else command.remarks
    changes = {name: [before[name], now] for name, now in _particulars(row).items() if now != before[name]}
    note(work, "changed", "build", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return build(work, build_id)


@usecase(May.MAKE_BUILDS)
def log_print(work: Work, build_id: int, command: LogPrint) -> BuildView:
    """Log one go at an item, that came out or failed; the same `press` twice is one.

    Raises Conflict while it is not being made, and Invalid for lots that cannot be.
    """
    row = own_to_make(work, build_id)
    if command.press and work.session.scalar(sa.select(PrintRow.id).where(PrintRow.press == command.press)):
        return build(work, build_id)
    if row.state is not BuildState.MAKING:
        first = "begin it" if row.state is BuildState.PLANNED else "if something has to be printed again, send it back"
        raise Conflict(NOT_NOW.format(row.state.label, f"{first} first."))
    item = _item(work, row, command.item)
    if item.version_id is None:
        raise Invalid.at("item", "This is bought, not printed. Name the lot it is from.")
    on = command.on or work.today
    if on > work.today:
        raise Invalid.at("on", "This day is still to come. Give the day it was printed.")
    if not command.lots and command.failed is None:
        raise Invalid.at("lots", "Name the spool it was printed from: a fault of a spool is traced by it.")
    printed = PrintRow(
        build_id=row.id,
        item_id=item.id,
        printer_id=printed_on(work, row, command),
        round=row.round,
        quantity=command.quantity,
        failed_why=command.failed,
        hours=command.hours,
        grams=command.grams,
        cents=None if command.cost is None else round(command.cost * 100),
        remarks=command.remarks,
        press=command.press,
        printed_on=on,
        logged_at=work.now,
        logged_by=work.actor.name,
        by_account_id=work.actor.account_id,
    )
    work.session.add(printed)
    work.session.flush()  # the id is needed below
    write_uses(work, row, item, command.lots, printed.id)
    said = {"item": [None, item.id], "failed": [None, command.failed.value if command.failed else None]}
    note(work, "printed", "build", subject_id=row.id, recipient_id=row.recipient_id, changes=said)
    work.session.flush()  # the view reads what was just written
    return build(work, build_id)


@usecase(May.MAKE_BUILDS)
def discard_print(work: Work, build_id: int, print_id: int, command: DiscardPrint) -> BuildView:
    """Say that what came out is not in the build any more; it stays on record. Raises Conflict while it is not made."""
    row = own_to_make(work, build_id)
    if row.state is not BuildState.MAKING:
        raise Conflict(NOT_NOW.format(row.state.label, "send it back first if something has to be made anew."))
    printed = work.session.get(PrintRow, print_id, with_for_update=True)
    if printed is None or printed.build_id != row.id:
        raise NotFound("There is no such print in this build.")
    if printed.failed_why is not None or printed.discarded_why is not None:
        raise Conflict("This print is in the build no more. There is nothing to do.")
    printed.discarded_why = command.why
    said = {"print": [None, print_id], "why": [None, command.why]}
    note(work, "discarded", "build", subject_id=row.id, recipient_id=row.recipient_id, changes=said)
    work.session.flush()  # the view reads what was just written
    return build(work, build_id)


@usecase(May.MAKE_BUILDS)
def use_lots(work: Work, build_id: int, command: UseLots) -> BuildView:
    """Name the lots that a bought item is from, instead of those named before."""
    row = own_to_make(work, build_id)
    if row.state not in {BuildState.PLANNED, BuildState.MAKING}:
        raise Conflict(NOT_NOW.format(row.state.label, "send it back first if a lot has to be put right."))
    item = _item(work, row, command.item)
    if item.version_id is not None:
        raise Invalid.at("item", "This is printed: name the spool where you log the print.")
    work.session.execute(sa.delete(UseRow).where(UseRow.item_id == item.id, UseRow.print_id.is_(None)))
    write_uses(work, row, item, command.lots)
    lots = {"lots": [None, [each.lot for each in command.lots]]}
    note(work, "used lots", "build", subject_id=row.id, recipient_id=row.recipient_id, changes=lots)
    work.session.flush()  # the view reads what was just written
    return build(work, build_id)


def _request(work: Work, request_id: int) -> RequestRow:
    mine = (
        sa.select(RequestRow)
        .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
        .where(RequestRow.id == request_id, visible(work.actor, work.today))
    )
    row = work.session.scalars(mine.with_for_update(of=RequestRow)).one_or_none()
    if row is None:
        raise NotFound("There is no request with this number among those you may see.")
    if (problem := settled_problem(row.state, row.settled_at.date() if row.settled_at else None)) is not None:
        raise Conflict(problem)
    if row.kind is RequestKind.ADVICE:
        raise Conflict("Advice is given, not made. Answer the request itself.")
    return row


def _row(work: Work, asked: RequestRow, volunteer_id: int | None, deadline: date | None) -> BuildRow:
    site_id = work.session.scalars(sa.select(RecipientRow.site_id).where(RecipientRow.id == asked.recipient_id)).one()
    offer = sa.select(OfferRow).where(OfferRow.request_id == asked.id, OfferRow.state == OfferState.ACCEPTED)
    agreed = work.session.scalars(offer).first()
    maker = volunteer_id or (agreed.volunteer_id if agreed else None)
    return BuildRow(
        request_id=asked.id,
        recipient_id=asked.recipient_id,
        site_id=site_id,
        device_id=asked.device_id,
        side=_side(work, asked),
        volunteer_id=volunteer_at(work, site_id, maker) if maker is not None else None,
        printer_id=None,
        offer_id=agreed.id if agreed and agreed.volunteer_id == maker else None,
        state=BuildState.PLANNED,
        since=work.now,
        round=1,
        deadline=deadline or asked.needed_by,
        opened_at=work.now,
        opened_by=work.actor.name,
    )


def _side(work: Work, asked: RequestRow) -> Any:
    """The side it is worn on: that of the device, or of the only limb; None where somebody has to say."""
    if asked.device_id is not None:
        return work.session.get_one(DeviceRow, asked.device_id).side
    limbs = work.session.scalars(sa.select(LimbRow.side).where(LimbRow.recipient_id == asked.recipient_id)).all()
    return limbs[0] if len(limbs) == 1 else None


def _write(work: Work, row: BuildRow) -> None:
    same = sa.select(BuildRow).where(BuildRow.request_id == row.request_id, BuildRow.state != BuildState.DROPPED)
    try:
        with work.session.begin_nested():
            work.session.add(row)
            work.session.flush()
    except IntegrityError:
        first = work.session.scalars(same).one()
        said = f"Build {first.id} answers this request already, and is {first.state.label}. Go on with that one."
        raise Conflict(said) from None
    asked = work.session.get_one(RequestRow, row.request_id)
    if asked.state is RequestState.OPEN:
        asked.state = RequestState.AGREED
    note(work, "opened", "build", subject_id=row.id, recipient_id=row.recipient_id)


def _item(work: Work, row: BuildRow, item_id: int) -> BuildItemRow:
    item = work.session.get(BuildItemRow, item_id)
    if item is None or item.build_id != row.id:
        raise Invalid.at("item", "This build has no such item. Choose one of its own.")
    return item


def _particulars(row: BuildRow) -> dict[str, Any]:
    given: dict[str, Any] = {"volunteer": row.volunteer_id, "printer": row.printer_id, "remarks": row.remarks}
    return {**given, "deadline": row.deadline.isoformat()}


def _named(item: BuildItemRow) -> Sequence[Any]:
    return [item.kind.value, item.version_id, item.scale_across, item.scale_along, item.quantity]
