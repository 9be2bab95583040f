"""Reading what figures are made from, as it was on a day: what people said, and whether they could be reached."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date, timedelta
from typing import Final

import sqlalchemy as sa

from service.access.work import Work
from service.figures.facts import Answered, AskedAfter, Attained, Device
from service.figures.following import stands
from service.figures.gathering import at
from service.outcomes.goal_rules import VOICES
from service.outcomes.rules import AskState, Outcome, asks, state_of
from service.outcomes.tables import DeviceFollowUpRow, GoalRow, GoalScoreRow
from service.recipients.tables import RecipientRow

RECENT: Final = timedelta(days=548)
"""An answer older than a year and a half tells nothing of how somebody gets on now."""


def asked(work: Work, devices: Iterable[Device], until: date, sites: Collection[int] | None = None) -> list[AskedAfter]:
    """Every follow-up that was due and is over by a day: answered, declined, or lost."""
    found = (
        sa.select(DeviceFollowUpRow.device_id, DeviceFollowUpRow.ask, DeviceFollowUpRow.outcome)
        .join(RecipientRow, RecipientRow.id == DeviceFollowUpRow.recipient_id)
        .where(stands(until), DeviceFollowUpRow.outcome != Outcome.NOT_REACHED, at(sites))
    )
    came_of = {(device, ask): outcome for device, ask, outcome in work.session.execute(found)}
    said = []
    for device in devices:
        for ask in asks(device.begun_on, until, device.known_from, device.stopped_on):
            state = state_of(ask, came_of.get((device.id, ask.name)), until)
            if state in {AskState.ANSWERED, AskState.DECLINED, AskState.LOST}:
                said.append(AskedAfter(device.recipient, ask.name, state.label))
    return said


def answers(work: Work, until: date, sites: Collection[int] | None = None) -> list[Answered]:
    """The last answered follow-up of each device, if it is recent."""
    found = (
        sa.select(DeviceFollowUpRow)
        .join(RecipientRow, RecipientRow.id == DeviceFollowUpRow.recipient_id)
        .where(
            stands(until),
            DeviceFollowUpRow.outcome == Outcome.ANSWERED,
            DeviceFollowUpRow.said_on > until - RECENT,
            at(sites),
        )
        .order_by(DeviceFollowUpRow.said_on, DeviceFollowUpRow.id)
    )
    last = {row.device_id: row for row in work.session.scalars(found)}
    return [
        Answered(
            recipient=row.recipient_id,
            by=row.answered_by.label if row.answered_by is not None else "",
            comfort=row.comfort,
            pain=row.pain.label if row.pain is not None else None,
            hours=row.hours_a_day,
            days=row.days_a_week,
            recommend=row.recommend.value if row.recommend is not None else None,
            used=row.used,
        )
        for row in last.values()
    ]


def goals(work: Work, until: date, sites: Collection[int] | None = None) -> list[Attained]:
    """Every goal that stands, with the last level reached; of one day the recipient's own voice goes first."""
    scored = (
        sa.select(GoalScoreRow.goal_id, GoalScoreRow.scored_on, GoalScoreRow.voice, GoalScoreRow.level)
        .where(GoalScoreRow.scored_on <= until)
        .order_by(GoalScoreRow.scored_on)
    )
    levels: defaultdict[int, tuple[date, int, int]] = defaultdict(lambda: (date.min, 0, 0))
    for goal, on, voice, level in work.session.execute(scored):
        levels[goal] = max(levels[goal], (on, -VOICES.index(voice), level))
    found = (
        sa.select(GoalRow.id, GoalRow.recipient_id, GoalRow.weight, GoalRow.ended_on)
        .join(RecipientRow, RecipientRow.id == GoalRow.recipient_id)
        .where(
            GoalRow.agreed_on <= until,
            at(sites),
        )
    )
    return [
        Attained(recipient, weight, levels[goal][2] if goal in levels else None)
        for goal, recipient, weight, ended_on in work.session.execute(found)
        if goal in levels or ended_on is None or ended_on > until
    ]
