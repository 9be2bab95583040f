"""Reading what follow-ups say of devices: which stand, who is not used any more, and when somebody last answered."""

from __future__ import annotations

from datetime import date

import sqlalchemy as sa

from service.access.work import Work
from service.outcomes.rules import Outcome
from service.outcomes.tables import DeviceFollowUpRow


def stands(until: date) -> sa.ColumnElement[bool]:
    """SQL: what was said by a day and not struck through since."""
    return sa.and_(DeviceFollowUpRow.struck_at.is_(None), DeviceFollowUpRow.said_on <= until)


def not_used_since(work: Work, until: date) -> dict[int, tuple[date, str]]:
    """By device, since when it was said not to be used any more, and why; unless something later says that it is."""
    found = (
        sa.select(
            DeviceFollowUpRow.device_id, DeviceFollowUpRow.said_on, DeviceFollowUpRow.used, DeviceFollowUpRow.why_not
        )
        .where(stands(until), DeviceFollowUpRow.used.is_not(None))
        .order_by(DeviceFollowUpRow.said_on, DeviceFollowUpRow.id)
    )
    stopped: dict[int, tuple[date, str]] = {}
    for device, on, used, why in work.session.execute(found):
        if used:
            stopped.pop(device, None)
        else:
            stopped.setdefault(device, (on, why.label if why is not None else ""))
    return stopped


def heard_in_follow_ups(work: Work, until: date) -> dict[int, date]:
    """By device, the last day on which somebody answered."""
    found = (
        sa.select(DeviceFollowUpRow.device_id, sa.func.max(DeviceFollowUpRow.said_on).label("on"))
        .where(stands(until), DeviceFollowUpRow.outcome == Outcome.ANSWERED)
        .group_by(DeviceFollowUpRow.device_id)
    )
    return {row.device_id: row.on for row in work.session.execute(found)}
