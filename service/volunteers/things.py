"""What volunteers have, know and are vetted for, read in one statement a kind, however many volunteers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.volunteers.rules import VettingKind
from service.volunteers.tables import AbsenceRow, PrinterRow, StockRow, TrainingRow, VettingRow, VolunteerRow

_ORDER: dict[str, tuple[Any, Any]] = {
    "printers": (PrinterRow, PrinterRow.id),
    "stock": (StockRow, StockRow.id),
    "absences": (AbsenceRow, AbsenceRow.since),
    "trainings": (TrainingRow, TrainingRow.trained_on),
    "vettings": (VettingRow, VettingRow.checked_on),
}


@dataclass
class Things:
    """The rows of one volunteer: stock that is not gone, absences that are not over, all the rest."""

    printers: list[Any] = field(default_factory=list)
    stock: list[Any] = field(default_factory=list)
    absences: list[Any] = field(default_factory=list)
    trainings: list[Any] = field(default_factory=list)
    vettings: list[Any] = field(default_factory=list)

    def vetted_until(self) -> Any:
        """The day the latest review of a check for home visits is due; None without one that was not ended."""
        standing = [each for each in self.vettings if each.ended_on is None and each.kind is VettingKind.HOME_VISITS]
        return max((each.review_due_on for each in standing), default=None)


def things(work: Work, whose: sa.ColumnElement[bool]) -> defaultdict[int, Things]:
    """By volunteer, of all whom the condition on their rows holds for: five statements."""
    narrowed = {"stock": StockRow.gone_on.is_(None), "absences": AbsenceRow.until >= work.today}
    found: defaultdict[int, Things] = defaultdict(Things)
    for name, (table, order) in _ORDER.items():
        rows = sa.select(table.__table__).join(VolunteerRow, VolunteerRow.id == table.volunteer_id)
        for row in work.session.execute(rows.where(whose, narrowed.get(name, sa.true())).order_by(order, table.id)):
            getattr(found[row.volunteer_id], name).append(row)
    return found


def away_until(absences: Sequence[Any], work: Work) -> Any:
    """The last day of the absence that holds today, or None."""
    return max((each.until for each in absences if each.since <= work.today <= each.until), default=None)
