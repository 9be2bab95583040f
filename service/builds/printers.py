"""Who makes a build, and what it came off: each at the build's own site."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.work import Work
from service.builds.schemas import LogPrint
from service.builds.tables import BuildRow
from service.kit.errors import Invalid
from service.volunteers.tables import PrinterRow, VolunteerRow


def volunteer_at(work: Work, site_id: int, volunteer_id: int) -> int:
    """A volunteer of a site who has not left; raises Invalid for any other."""
    row = work.session.get(VolunteerRow, volunteer_id)
    if row is None or row.site_id != site_id or row.left_on is not None:
        raise Invalid.at("volunteer", "There is no such volunteer at this case's site. Look among the volunteers.")
    return row.id


def printer_at(work: Work, row: BuildRow, printer_id: int | None) -> int | None:
    """A printer at the site of a build, or None for none; raises Invalid for any other."""
    if printer_id is None:
        return None
    found = work.session.get(PrinterRow, printer_id)
    whose = work.session.get(VolunteerRow, found.volunteer_id) if found else None
    if whose is None or whose.site_id != row.site_id:
        raise Invalid.at("printer", "There is no such printer at this site. Look at the page of who makes it.")
    return printer_id


def printed_on(work: Work, row: BuildRow, command: LogPrint) -> int | None:
    """The printer it came off: as said, the build's, or the maker's only one; a fault of a printer is traced by it.

    Raises Invalid where the maker has several and nobody said which.
    """
    known = printer_at(work, row, command.printer) or row.printer_id
    if known is not None or row.volunteer_id is None:
        return known
    theirs = sa.select(PrinterRow.id).where(PrinterRow.volunteer_id == row.volunteer_id)
    printers = work.session.scalars(theirs).all()
    if len(printers) > 1 and command.failed is None:
        raise Invalid.at("printer", "Say on which printer: a fault of a printer is traced by it.")
    return printers[0] if len(printers) == 1 else None
