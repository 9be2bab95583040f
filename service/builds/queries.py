"""Builds from the database into views, narrowed to what the actor may see."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.assembly.answers import VersionUsed
from service.assembly.rules import Scaled, lot_words, part_called
from service.assembly.stays import versions_used
from service.builds.keeping import in_the_build, items_of, needed
from service.builds.rows import lines
from service.builds.rules import UNDER_WAY, BuildState, unfinished
from service.builds.schemas import (
    BuildFilter,
    BuildLine,
    BuildView,
    ItemView,
    LotView,
    MoveView,
    PrintView,
    StockView,
    Sums,
    SumsFilter,
)
from service.builds.scope import makers, sees_case, theirs_to_make, visible_builds
from service.builds.sums import summed
from service.builds.tables import BuildItemRow, BuildMoveRow, BuildRow, PrintRow, UseRow
from service.kit.errors import Invalid, NotFound
from service.kit.paging import Page, after, decode, encode
from service.lots.rules import LotState
from service.lots.tables import LotRow
from service.recipients.rules import read_case_number
from service.recipients.tables import RecipientRow
from service.volunteers.tables import PrinterRow, VolunteerRow


@usecase(May.SEE_BUILDS)
def builds(work: Work, wanted: BuildFilter) -> Page[BuildLine]:
    """Builds, the nearest deadline first; without a state, those under way and those in their first days of wear."""
    order = (BuildRow.deadline, BuildRow.id)
    found = _lines(work).where(*_wanted(wanted)).order_by(*order).limit(wanted.limit + 1)
    if wanted.cursor is not None:
        found = found.where(after(order, _place(wanted.cursor)))
    rows = work.session.execute(found).all()
    shown = rows[: wanted.limit]
    more = encode((shown[-1].deadline.isoformat(), shown[-1].id)) if len(rows) > len(shown) else None
    return Page(items=lines(work, shown), next=more)


@usecase(May.SEE_BUILDS)
def build(work: Work, build_id: int) -> BuildView:
    """All of one build; raises NotFound for any that is not theirs to see."""
    row = work.session.execute(_lines(work).where(BuildRow.id == build_id)).one_or_none()
    if row is None:
        raise NotFound("There is no build with this number among those you may see.")
    if row.sees_case:
        work.read.add(row.recipient_id)
    (line,) = lines(work, [row])
    kept = work.session.get_one(BuildRow, build_id)
    counted = {each.item: each for each in needed(work, kept)}
    uses = _uses(work, build_id)
    items = _items(work, build_id, {each: counted[each].came_out for each in counted}, uses)
    prints = _prints(work, build_id, uses)
    beside = work.session.execute(
        sa.select(SiteRow.code, PrinterRow.name)
        .select_from(SiteRow)
        .outerjoin(PrinterRow, PrinterRow.id == kept.printer_id)
        .where(SiteRow.id == kept.site_id)
    ).one()
    return BuildView(
        **line.model_dump(),
        site=beside.code,
        device=kept.device_id,
        printer=kept.printer_id,
        printer_name=beside.name,
        round=kept.round,
        remarks=kept.remarks,
        items=items,
        prints=prints,
        moves=_moves(work, build_id),
        missing=unfinished(counted.values()) if items else ["Nothing is chosen to be made. Choose the version first."],
        hours=round(sum(each.hours or 0 for each in prints), 2),
        grams=round(sum(each.grams or 0 for each in prints), 1),
        cost=round(sum(each.cost or 0 for each in prints), 2),
        failed_prints=sum(each.failed is not None for each in prints),
        mine=work.actor.account_id in makers(work, kept),
        runs=row.runs,
    )


def _place(cursor: str) -> tuple[date, int]:
    day, build_id = decode(cursor, (str, int))
    try:
        return date.fromisoformat(day), build_id
    except ValueError:
        raise Invalid.at("cursor", "This cursor is not valid. Start again from the first page.") from None


@usecase(May.SEE_BUILDS)
def waiting_for_a_check(work: Work) -> int:
    """How many builds that the actor may see wait for their bench check."""
    waiting = sa.select(sa.func.count()).select_from(BuildRow)
    return int(work.session.scalar(waiting.where(visible_builds(work), BuildRow.state == BuildState.MADE)) or 0)


@usecase(May.SUM_BUILDS)
def sums(work: Work, wanted: SumsFilter) -> Sums:
    """Hours, grams and cost of prints by site, month, recipient, device or build."""
    return summed(work, wanted)


@usecase(May.SEE_LOTS)
def stock(work: Work) -> list[StockView]:
    """The lots of the actor's sites that may be used, with what is left: what came in, less what builds took.

    What failed and what was discarded is used up too. A print that says no amount takes its grams of a lot in grams.
    """
    taken = (
        sa.select(UseRow.lot_id, sa.func.sum(sa.func.coalesce(UseRow.amount, PrintRow.grams, 0)).label("used"))
        .outerjoin(PrintRow, PrintRow.id == UseRow.print_id)
        .group_by(UseRow.lot_id)
        .subquery("taken")
    )
    rows = work.session.execute(
        sa.select(LotRow, taken.c.used)
        .outerjoin(taken, taken.c.lot_id == LotRow.id)
        .where(LotRow.site_id.in_(work.actor.sites), LotRow.state.in_([LotState.IN_USE, LotState.HELD]))
        .order_by(LotRow.id.desc())
    )
    return [_stock(lot, float(used or 0)) for lot, used in rows]


def _stock(lot: LotRow, used: float) -> StockView:
    return StockView(
        lot=lot.id,
        called=lot_words(lot.what, lot.colour, lot.maker, lot.batch),
        state=lot.state,
        unit=lot.unit.value,
        received=lot.quantity,
        used=round(used, 2),
        left=None if lot.quantity is None else round(lot.quantity - used, 2),
    )


def _lines(work: Work) -> sa.Select[Any]:
    return (
        sa.select(
            *(getattr(BuildRow, each) for each in ("id", "request_id", "recipient_id", "state", "since", "side")),
            *(BuildRow.deadline, BuildRow.volunteer_id, RecipientRow.case_number, RecipientRow.given_name),
            VolunteerRow.name.label("volunteer_name"),
            sees_case(work).label("sees_case"),
            theirs_to_make(work).label("runs"),
        )
        .join(RecipientRow, RecipientRow.id == BuildRow.recipient_id)
        .outerjoin(VolunteerRow, VolunteerRow.id == BuildRow.volunteer_id)
        .where(visible_builds(work))
    )


def _wanted(wanted: BuildFilter) -> list[sa.ColumnElement[bool]]:
    found: list[sa.ColumnElement[bool]] = []
    if wanted.state is not None:
        found.append(BuildRow.state == wanted.state)
    elif not wanted.ever and wanted.request is None and wanted.case_number is None:
        found.append(BuildRow.state.in_(UNDER_WAY))
    if wanted.case_number is not None:
        found.append(RecipientRow.case_number == read_case_number(wanted.case_number))
    if wanted.request is not None:
        found.append(BuildRow.request_id == wanted.request)
    return found


def _uses(work: Work, build_id: int) -> list[tuple[UseRow, LotView]]:
    rows = work.session.execute(
        sa.select(UseRow, LotRow).join(LotRow, LotRow.id == UseRow.lot_id).where(UseRow.build_id == build_id)
    ).all()
    return [(use, _lot(use, lot)) for use, lot in rows]


def _lot(use: UseRow, lot: LotRow) -> LotView:
    return LotView(
        lot=lot.id,
        called=lot_words(lot.what, lot.colour, lot.maker, lot.batch),
        state=lot.state,
        amount=use.amount,
        unit=lot.unit.value,
    )


def _items(
    work: Work, build_id: int, came_out: dict[int, int], uses: Sequence[tuple[UseRow, LotView]]
) -> list[ItemView]:
    rows = items_of(work, build_id)
    versions = versions_used(work, {row.version_id for row in rows if row.version_id is not None})
    came_from = sa.select(PrintRow.id).where(PrintRow.build_id == build_id, in_the_build())
    good = set(work.session.scalars(came_from))
    used: defaultdict[int, dict[int, LotView]] = defaultdict(dict)
    for use, lot in uses:
        if use.print_id is None or use.print_id in good:
            used[use.item_id][lot.lot] = lot
    return [
        _item(row, versions.get(row.version_id or 0), came_out.get(row.id, 0), list(used[row.id].values()))
        for row in rows
    ]


def _item(row: BuildItemRow, version: VersionUsed | None, came_out: int, lots: list[LotView]) -> ItemView:
    scaled = Scaled(row.scale_across, row.scale_along or row.scale_across) if row.scale_across else None
    return ItemView(
        id=row.id,
        place=row.place_id,
        kind=row.kind,
        called=part_called(row.kind, row.digit),
        what=row.what,
        digit=row.digit,
        side=row.side,
        version=row.version_id,
        version_name=version.name if version else None,
        scale_across=row.scale_across,
        scale_along=row.scale_along,
        scale_words=scaled.words if scaled else "",
        material=row.material,
        colour=row.colour,
        quantity=row.quantity,
        spare=row.spare,
        came_out=came_out,
        lots=lots,
    )


def _prints(work: Work, build_id: int, uses: Sequence[tuple[UseRow, LotView]]) -> list[PrintView]:
    rows = work.session.execute(
        sa.select(PrintRow, PrinterRow.name)
        .outerjoin(PrinterRow, PrinterRow.id == PrintRow.printer_id)
        .where(PrintRow.build_id == build_id)
        .order_by(PrintRow.id)
    ).all()
    of: defaultdict[int | None, list[LotView]] = defaultdict(list)
    for use, lot in uses:
        of[use.print_id].append(lot)
    return [
        PrintView(
            id=row.id,
            item=row.item_id,
            printer=row.printer_id,
            printer_name=name,
            round=row.round,
            quantity=row.quantity,
            failed=row.failed_why,
            discarded=row.discarded_why,
            hours=row.hours,
            grams=row.grams,
            cost=None if row.cents is None else row.cents / 100,
            remarks=row.remarks,
            on=row.printed_on,
            by=row.logged_by,
            lots=of[row.id],
        )
        for row, name in rows
    ]


def _moves(work: Work, build_id: int) -> list[MoveView]:
    rows = work.session.scalars(
        sa.select(BuildMoveRow).where(BuildMoveRow.build_id == build_id).order_by(BuildMoveRow.id)
    )
    return [MoveView(came_from=row.came_from, to=row.to, why=row.why, at=row.at, by=row.by) for row in rows]
