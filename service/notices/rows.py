"""Rows of notices and of what they are about, for every use case of this room and for the gate. Part of another act."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.rules import lot_words
from service.assembly.stays import versions_used
from service.builds.keeping import in_the_build
from service.builds.tables import PrintRow, UseRow
from service.kit.errors import Invalid, NotFound
from service.lots.tables import LotRow
from service.notices.rules import NoticeKind, days_problem
from service.notices.schemas import NoticeAbout
from service.notices.tables import NoticeRow
from service.notices.tracing import held_now, printed_between
from service.parts.tables import VersionRow
from service.volunteers.tables import PrinterRow, VolunteerRow


def row_of(work: Work, notice_id: int, *, locked: bool = False) -> NoticeRow:
    """A notice; raises NotFound. Part of another act, which was permitted."""
    found = work.session.get(NoticeRow, notice_id, with_for_update=locked or None)
    if found is None:
        raise NotFound("There is no notice with this number.")
    return found


def new_row(work: Work, about: NoticeAbout, *, held: bool = False) -> NoticeRow:
    """A notice on what is named, not yet kept; raises Invalid for what there is not, or not at the actor's sites.

    `held` for one that is opened: what is being fitted of it at this moment is fitted first, and found, or waits.
    """
    given = {
        NoticeKind.VERSION: (about.version, VersionRow),
        NoticeKind.LOT: (about.lot, LotRow),
        NoticeKind.PRINTER: (about.printer, PrinterRow),
    }
    named = [(kind, each, table) for kind, (each, table) in given.items() if each is not None]
    if len(named) != 1:
        raise Invalid.at("version", "Say what it is about: a version, a lot, or a printer. One notice is about one.")
    kind, found, table = named[0]
    there = work.session.get(table, found, with_for_update=held or None)
    site_id = getattr(there, "site_id", None)
    if isinstance(there, PrinterRow):
        site_id = work.session.get_one(VolunteerRow, there.volunteer_id).site_id
    if there is None or (site_id is not None and site_id not in work.actor.sites):
        raise Invalid.at(kind.value, f"There is no {kind.label} with this number at your sites. Look it up.")
    if (wrong := days_problem(kind, about.from_on, about.until_on, work.today)) is not None:
        raise Invalid.at(*wrong)
    return NoticeRow(
        kind=kind,
        version_id=about.version,
        lot_id=about.lot,
        printer_id=about.printer,
        from_on=about.from_on,
        until_on=about.until_on,
        opened_at=work.now,
        opened_by=work.actor.name,
    )


def open_on_the_same(work: Work, row: NoticeRow) -> int | None:
    """The notice that is open on the very same already, if there is one."""
    names = ("version_id", "lot_id", "printer_id", "from_on", "until_on")
    same = [getattr(NoticeRow, each).is_not_distinct_from(getattr(row, each)) for each in names]
    found = sa.select(NoticeRow.id).where(NoticeRow.closed_at.is_(None), NoticeRow.kind == row.kind, *same)
    return work.session.scalars(found.order_by(NoticeRow.id)).first()


def held_rows(work: Work, row: NoticeRow) -> Sequence[Any]:
    """Every affected part that is in a device now, of all cases; a notice that is closed is about none any more."""
    return work.session.execute(held_now(row)).all()


def what_words(work: Work, row: NoticeRow) -> str:
    """What a notice is about, as it is called."""
    if row.kind is NoticeKind.VERSION and row.version_id is not None:
        return versions_used(work, [row.version_id])[row.version_id].name
    if row.kind is NoticeKind.LOT:
        lot = work.session.get_one(LotRow, row.lot_id)
        return lot_words(lot.what, lot.colour, lot.maker, lot.batch)
    printer = work.session.get_one(PrinterRow, row.printer_id)
    whose = work.session.get_one(VolunteerRow, printer.volunteer_id)
    until = f" to {row.until_on.isoformat()}" if row.until_on else " on"
    return f"what came off {printer.name} ({whose.name}) from {row.from_on}{until}"


def open_on(work: Work, versions: set[int], build_id: int, current: sa.Select[Any]) -> list[tuple[NoticeRow, str]]:
    """The open notices that a build meets: on a version of its items, a lot in it, or a printer it came off.

    Part of another act. `current` selects what of lots is in the build as it stands.
    """
    rows = work.session.scalars(sa.select(NoticeRow).where(NoticeRow.closed_at.is_(None))).all()
    if not rows:
        return []
    lots = set(work.session.scalars(current.with_only_columns(UseRow.lot_id)))
    met = [row for row in rows if row.version_id in versions or row.lot_id in lots or _came_off(work, row, build_id)]
    return [(row, what_words(work, row)) for row in met]


def _came_off(work: Work, row: NoticeRow, build_id: int) -> bool:
    """Whether something of a build as it stands came off a notice's printer on one of its days."""
    if row.kind is not NoticeKind.PRINTER:
        return False
    printed = sa.exists().where(PrintRow.build_id == build_id, in_the_build(), *printed_between(row))
    return bool(work.session.scalar(sa.select(printed)))
