"""What every act on a build does the same way: find it, move it on, write down the prints and lots of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.rules import part_called
from service.audit.actions import note
from service.builds.rules import NEEDS_WHY, BuildState, Needed, move_problem
from service.builds.schemas import UsedLot
from service.builds.scope import theirs_to_make, visible_builds
from service.builds.tables import BuildItemRow, BuildMoveRow, BuildRow, PrintRow, UseRow
from service.kit.errors import Conflict, Invalid, NotFound
from service.lots.rules import LotKind, why_not_used
from service.lots.tables import LotRow


def own(work: Work, build_id: int) -> BuildRow:
    """A build the actor may see, locked, so that of two who press at once the second finds what the first did."""
    mine = sa.select(BuildRow).where(BuildRow.id == build_id, visible_builds(work))
    locked = mine.with_for_update(of=BuildRow).execution_options(populate_existing=True)
    row = work.session.scalars(locked).one_or_none()
    if row is None:
        raise NotFound("There is no build with this number among those you may see.")
    return row


def own_to_make(work: Work, build_id: int) -> BuildRow:
    """A build that is the actor's to make or to run, locked; raises Conflict for one they may only look at or check."""
    row = own(work, build_id)
    if not work.session.scalar(sa.select(theirs_to_make(work)).where(BuildRow.id == row.id)):
        raise Conflict("Somebody else makes this. You may look at it and sign its bench check; ring your coordinator.")
    return row


def move(work: Work, row: BuildRow, to: BuildState, why: str = "") -> None:
    """Move a build on and keep who did it; raises Conflict for what cannot follow. What blocks it is not asked here."""
    if (problem := move_problem(row.state, to)) is not None:
        raise Conflict(problem)
    before = row.state
    work.session.add(
        BuildMoveRow(
            build_id=row.id,
            round=row.round,
            came_from=before,
            to=to,
            why=why,
            at=work.now,
            by=work.actor.name,
            by_account_id=work.actor.account_id,
        )
    )
    row.state, row.since = to, work.now
    row.round += to is BuildState.SENT_BACK  # its checks count no more
    changes = {"state": [before.value, to.value]} | ({"why": [None, why]} if why else {})
    note(work, "moved", "build", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # what is read next finds it moved


def items_of(work: Work, build_id: int) -> list[BuildItemRow]:
    """The items of a build, as they were chosen."""
    found = sa.select(BuildItemRow).where(BuildItemRow.build_id == build_id).order_by(BuildItemRow.id)
    return list(work.session.scalars(found))


def needed(work: Work, row: BuildRow) -> list[Needed]:
    """The items of a build, with how many of each came out and are in it."""
    came_out = _sums(work, row)
    with_lot = set(work.session.scalars(used_lots(row).with_only_columns(UseRow.item_id)))
    return [
        Needed(
            item=item.id,
            name=part_called(item.kind, item.digit),
            quantity=item.quantity,
            printed=item.version_id is not None,
            came_out=came_out.get(item.id, 0),
            has_lot=item.id in with_lot,
        )
        for item in items_of(work, row.id)
    ]


def used_lots(row: BuildRow) -> sa.Select[Any]:
    """SQL: what of lots is in a build as it stands: of prints that are in it, and of bought things."""
    return (
        sa.select(UseRow)
        .outerjoin(PrintRow, PrintRow.id == UseRow.print_id)
        .where(UseRow.build_id == row.id)
        .where(sa.or_(UseRow.print_id.is_(None), in_the_build()))
    )


def in_the_build() -> sa.ColumnElement[bool]:
    """SQL: a print that came out, and was not discarded since."""
    return sa.and_(PrintRow.failed_why.is_(None), PrintRow.discarded_why.is_(None))


def write_uses(
    work: Work, row: BuildRow, item: BuildItemRow, lots: Sequence[UsedLot], print_id: int | None = None
) -> None:
    """Write down the lots that went into an item; raises Invalid for one of another site or kind, or not to be used."""
    for at, each in enumerate(lots):
        lot = work.session.get(LotRow, each.lot, with_for_update={"read": True})
        if lot is None or lot.site_id != row.site_id:
            raise Invalid.at(f"lots.{at}.lot", f"There is no lot {each.lot} at this site. Look it up among the lots.")
        if (why := why_not_used(lot.state)) is not None:
            raise Invalid.at(f"lots.{at}.lot", f"Lot {lot.id} cannot be used. {why}")
        if print_id is not None and lot.kind is not LotKind.FILAMENT:
            raise Invalid.at(f"lots.{at}.lot", f"Lot {lot.id} is no filament. Name the spool it was printed from.")
        if item.version_id is None and lot.kind is LotKind.FILAMENT:
            raise Invalid.at(f"lots.{at}.lot", f"Lot {lot.id} is filament, and this is bought. Name its own lot.")
        if print_id is not None and lot.material and item.material.casefold() != lot.material.casefold():
            said = f"Lot {lot.id} is {lot.material}, and this is to be printed in {item.material or 'nothing named'}."
            raise Invalid.at(f"lots.{at}.lot", said)
        if print_id is not None and lot.colour:
            item.colour = lot.colour  # it is of the colour it was printed in, whatever was asked for
        work.session.add(
            UseRow(
                build_id=row.id,
                item_id=item.id,
                print_id=print_id,
                lot_id=lot.id,
                amount=each.amount,
            )
        )


def _sums(work: Work, row: BuildRow) -> dict[int, int]:
    good = sa.select(PrintRow.item_id, sa.func.sum(PrintRow.quantity)).where(
        PrintRow.build_id == row.id, in_the_build()
    )
    return {item: int(count) for item, count in work.session.execute(good.group_by(PrintRow.item_id)).all()}


def check_reason(to: BuildState, why: str) -> None:
    """Raises Invalid for a move that nobody makes without a reason."""
    if to in NEEDS_WHY and not why:
        raise Invalid.at("why", "Say why in a few words: whoever makes it reads this.")
