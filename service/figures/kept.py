"""Sheets as they were kept, read once: a sheet never changes, so whoever has read it need not read it again."""

from __future__ import annotations

from datetime import date
from typing import Final

import sqlalchemy as sa

from service.access.work import Work
from service.figures.sheets import SheetView
from service.figures.tables import SheetRow
from service.kit.errors import NotFound

MOST: Final = 8
"""So many sheets are held ready: the newest, and the reports that somebody compares it with."""

_READY: dict[str, SheetView] = {}
"""By the hash of what is in it, so that no register can be shown another's."""


def kept(work: Work, until: date | None = None) -> SheetView | None:
    """The sheet up to a day, or the newest; None if there is none. Part of another read, which was permitted."""
    which = sa.select(SheetRow.id, SheetRow.sha256).order_by(SheetRow.until.desc()).limit(1)
    if until is not None:
        which = which.where(SheetRow.until == until)
    found = work.session.execute(which).one_or_none()
    if found is None:
        return None
    if (ready := _READY.get(found.sha256)) is not None:
        return ready
    body = work.session.scalars(sa.select(SheetRow.body).where(SheetRow.id == found.id)).one()
    if len(_READY) >= MOST:
        _READY.clear()
    return _READY.setdefault(found.sha256, SheetView.model_validate(body))


def there(sheet: SheetView | None) -> SheetView:
    """A sheet that is there; raises NotFound before the first is made."""
    if sheet is None:
        raise NotFound(
            "No figures have been worked out yet. They are made in the background, two weeks after a quarter is over; "
            "come back then."
        )
    return sheet
