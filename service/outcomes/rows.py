"""Devices with the days on which it is asked about them, and what came of asking, read from their rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from service.access.work import Work
from service.assembly.tables import PlaceRow
from service.devices.rules import EndReason, Use
from service.devices.tables import DeviceRow, SocketRow
from service.outcomes.rules import Ask, Outcome, asks, state_of
from service.outcomes.schemas import AskView, FollowUpView
from service.outcomes.tables import DeviceFollowUpRow
from service.recipients.rules import CaseState, Side
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow


@dataclass(frozen=True, slots=True)
class Followed:
    """A device of a case the actor may see, with all that its asks follow from; `asks` are those that have come."""

    device: int
    recipient: int
    case_number: str
    given_name: str
    purpose: str
    side: Side
    use: Use
    first_fitted: date | None
    asks: list[Ask]


def followed(work: Work, *which: sa.ColumnElement[bool]) -> list[Followed]:
    """The devices that fit some conditions, those in use first; one in which nothing was fitted has no asks."""
    newer = aliased(DeviceRow)
    rows = work.session.execute(
        sa.select(
            *(DeviceRow.id, DeviceRow.recipient_id, DeviceRow.purpose, DeviceRow.side, DeviceRow.use),
            *(DeviceRow.stopped_on, DeviceRow.created_at),
            *(RecipientRow.case_number, RecipientRow.given_name, RecipientRow.state, RecipientRow.state_since),
            _first(SocketRow, SocketRow.fitted_on, SocketRow.end_reason).label("socket_on"),
            _first(PlaceRow, PlaceRow.since, PlaceRow.came_off).label("part_on"),
            sa.select(sa.func.min(newer.created_at))
            .where(newer.replaces_id == DeviceRow.id)
            .scalar_subquery()
            .label("replaced_at"),
        )
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(visible(work.actor, work.today), *which)
        .order_by(DeviceRow.recipient_id, DeviceRow.id.desc())
    ).all()
    return sorted((_followed(row, work.today) for row in rows), key=lambda each: list(Use).index(each.use))


def _followed(row: Any, today: date) -> Followed:
    fitted = min((day for day in (row.socket_on, row.part_on) if day is not None), default=None)
    known = [] if fitted is None else asks(fitted, today, row.created_at.date(), _asked_until(row))
    return Followed(
        device=row.id,
        recipient=row.recipient_id,
        case_number=row.case_number,
        given_name=row.given_name,
        purpose=row.purpose,
        side=row.side,
        use=row.use,
        first_fitted=fitted,
        asks=known,
    )


def _asked_until(row: Any) -> date | None:
    """The last day on which it is asked; a spare that another device took over from is not asked about any more."""
    ends = [row.stopped_on] if row.use is Use.STOPPED else []
    if row.use is Use.SPARE and row.replaced_at is not None:
        ends.append(row.replaced_at.date())
    if row.state is CaseState.CLOSED:
        ends.append(row.state_since)
    return min((day for day in ends if day is not None), default=None)


def _first(table: Any, day: Any, why: Any) -> sa.ScalarSelect[date]:
    """The first day of what was in a device and no mistake."""
    standing = sa.or_(why.is_(None), why != EndReason.MISTAKE)
    first = sa.select(sa.func.min(day)).where(table.device_id == DeviceRow.id, standing)
    return first.correlate(DeviceRow).scalar_subquery()


def told(work: Work, devices: Collection[int]) -> dict[tuple[int, str], list[FollowUpView]]:
    """What came of asking, by device and ask, the newest first."""
    rows = work.session.execute(
        sa.select(DeviceFollowUpRow.__table__, DeviceRow.use.label("now"))
        .join(DeviceRow, DeviceRow.id == DeviceFollowUpRow.device_id)
        .where(DeviceFollowUpRow.device_id.in_(devices))
        .order_by(DeviceFollowUpRow.said_on.desc(), DeviceFollowUpRow.id.desc())
    ).mappings()
    found: defaultdict[tuple[int, str], list[FollowUpView]] = defaultdict(list)
    for row in rows:
        found[row["device_id"], row["ask"]].append(view_of(row))
    return found


def view_of(row: sa.RowMapping) -> FollowUpView:
    """A row with the use of its device as `now`, as a view."""
    struck = row["struck_at"] and {"at": row["struck_at"], "by": row["struck_by"], "why": row["struck_why"]}
    waits = row["used"] is False and row["seen_to_at"] is None and not struck and row["now"] is not Use.STOPPED
    given = {**row, "device": row["device_id"], "on": row["said_on"], "incident": row["incident_id"]}
    return FollowUpView.model_validate({**given, "struck": struck, "waits": waits})


def standing(told_of: Collection[FollowUpView]) -> FollowUpView | None:
    """The answer of an ask, or that somebody declined, among all that came of it; None if there is neither."""
    return next((each for each in told_of if each.outcome is not Outcome.NOT_REACHED and each.struck is None), None)


def ask_view(device: Followed, ask: Ask, came: Collection[FollowUpView], today: date) -> AskView:
    """An ask with all that came of it."""
    answer = standing(came)
    return AskView(
        device=device.device,
        purpose=device.purpose,
        side=device.side,
        ask=ask.name,
        words=ask.words,
        due_on=ask.due_on,
        closes_on=ask.closes_on,
        state=state_of(ask, answer.outcome if answer else None, today),
        answer=answer,
        tries=[each for each in came if each is not answer],
    )
