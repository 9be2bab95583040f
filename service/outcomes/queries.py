"""Reading follow-ups, goals and scores, narrowed to what the actor may see."""

from __future__ import annotations

from datetime import date, timedelta

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.devices.rules import Use
from service.devices.tables import DeviceRow
from service.gate.checklists import CheckKind
from service.gate.tables import CheckRow
from service.handovers.queries import follow_ups as checks_due
from service.handovers.schemas import FollowUpView as CheckDue
from service.handovers.tables import FollowUpRow
from service.outcomes.goal_rows import attained, goals_of
from service.outcomes.goal_schemas import GoalsView
from service.outcomes.rows import Followed, ask_view, followed, told
from service.outcomes.rules import OPEN_FOR, TOGETHER, Ask, AskState, one_conversation
from service.outcomes.schemas import AskView, DueView, QuestionnaireScoreView, SaidStopped, ToAsk
from service.outcomes.tables import DeviceFollowUpRow, QuestionnaireScoreRow
from service.recipients.queries import seen_recipient
from service.recipients.rules import CaseState
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow


@usecase(May.SEE_FOLLOW_UPS)
def follow_ups(work: Work, case_number: str) -> list[AskView]:
    """Every ask of every device of a recipient with what came of it: devices in use first, the newest ask first."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    devices = followed(work, DeviceRow.recipient_id == seen.id)
    came = told(work, [each.device for each in devices])
    return [
        ask_view(device, ask, came.get((device.device, ask.name), []), work.today)
        for device in devices
        for ask in reversed(device.asks)
    ]


@usecase(May.SEE_FOLLOW_UPS)
def open_asks(work: Work, case_number: str) -> list[AskView]:
    """The asks of a recipient that are open today, the oldest first."""
    found = [each for each in follow_ups(work, case_number) if each.state is AskState.OPEN]
    return sorted(found, key=lambda each: (each.due_on, each.device))


@usecase(May.SEE_FOLLOW_UPS)
def due(work: Work, within_days: int = 14) -> list[DueView]:
    """Whom to ask how it goes by then: the one list of checks of builds and of asks, the longest due first.

    A check and an ask of the same device that are near enough are one entry, so that a family is asked once.
    """
    until = work.today + timedelta(days=within_days)
    checks = checks_due(work, within_days)
    asked = _unanswered(work, until)
    purposes = {device.device: device.purpose for device, _ask, _tries in asked} | _purposes(work, checks)
    joined: set[tuple[int, str]] = set()
    found = []
    for check in checks:
        near = next(
            (
                (device.device, ask.name)
                for device, ask, _tries in asked
                if device.device == check.device
                and (device.device, ask.name) not in joined
                and one_conversation(ask, max(check.due_on, work.today))  # what is late is done now at the soonest
            ),
            None,
        )
        joined |= {near} if near else set()
        found.append(
            DueView(
                **check.model_dump(),
                purpose=purposes[check.device],
                closes_on=None,
                questions=near is not None,
                tries=0,
            )
        )
    found += [_due(work, device, ask, tries) for device, ask, tries in asked if (device.device, ask.name) not in joined]
    return sorted(found, key=lambda each: (each.due_on, each.case_number, each.device))


@usecase(May.ASK_FOLLOW_UPS)
def to_ask(work: Work) -> list[ToAsk]:
    """The asks that are open today and about which a family may be written to: nobody else asks it this week."""
    asked = _unanswered(work, work.today)
    devices = {device.device for device, _ask, _tries in asked}
    talks = _talked_about(work, devices)
    return [
        ToAsk(recipient=device.recipient, case_number=device.case_number, device=device.device, ask=ask.name)
        for device, ask, _tries in asked
        if not any(abs(day - work.today) <= TOGETHER for day in talks.get(device.device, ()))
    ]


@usecase(May.SEE_FOLLOW_UPS)
def said_stopped(work: Work) -> list[SaidStopped]:
    """The devices of the cases the actor may see that are said not to be used any more, and nobody saw to it."""
    waiting = (
        sa.select(
            *(RecipientRow.case_number, RecipientRow.given_name, DeviceRow.id.label("device"), DeviceRow.purpose),
            *(DeviceRow.side, DeviceFollowUpRow.why_not, DeviceFollowUpRow.why_not_words),
            DeviceFollowUpRow.said_on.label("on"),
        )
        .join(DeviceRow, DeviceRow.id == DeviceFollowUpRow.device_id)
        .join(RecipientRow, RecipientRow.id == DeviceFollowUpRow.recipient_id)
        .where(~DeviceFollowUpRow.used, DeviceFollowUpRow.seen_to_at.is_(None), DeviceFollowUpRow.struck_at.is_(None))
        .where(DeviceRow.use != Use.STOPPED, visible(work.actor, work.today))
        .order_by(DeviceFollowUpRow.said_on.desc(), DeviceFollowUpRow.id.desc())
    )
    newest = {row["device"]: row for row in reversed(list(work.session.execute(waiting).mappings()))}
    return sorted((SaidStopped.model_validate({**row}) for row in newest.values()), key=lambda each: each.on)


@usecase(May.SEE_FOLLOW_UPS)
def questionnaire_scores(work: Work, case_number: str) -> list[QuestionnaireScoreView]:
    """The scores of questionnaires of a recipient, the newest first."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    mine = sa.select(QuestionnaireScoreRow.__table__).where(QuestionnaireScoreRow.recipient_id == seen.id)
    newest = (QuestionnaireScoreRow.scored_on.desc(), QuestionnaireScoreRow.id.desc())
    return [
        QuestionnaireScoreView.model_validate({**row, "device": row["device_id"], "on": row["scored_on"]})
        for row in work.session.execute(mine.order_by(*newest)).mappings()
    ]


@usecase(May.SEE_FOLLOW_UPS)
def goals(work: Work, case_number: str) -> GoalsView:
    """The goals of a recipient, those that are pursued first, and how far they were attained."""
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    found = goals_of(work, seen.id)
    return GoalsView(items=found, attained=attained(found))


def _unanswered(work: Work, until: date) -> list[tuple[Followed, Ask, int]]:
    """Asks that are open, or will be by a day, with how often nobody was reached; of devices that may have any."""
    lately = work.today - OPEN_FOR
    may_be_asked = (
        sa.or_(DeviceRow.use != Use.STOPPED, DeviceRow.stopped_on >= lately),
        sa.or_(RecipientRow.state != CaseState.CLOSED, RecipientRow.state_since >= lately),
    )
    devices = [
        (device, ask)
        for device in followed(work, *may_be_asked)
        for ask in device.asks
        if ask.due_on <= until and ask.closes_on >= work.today
    ]
    came = told(work, {device.device for device, _ask in devices})
    found = []
    for device, ask in devices:
        seen = ask_view(device, ask, came.get((device.device, ask.name), []), work.today)
        if seen.state in {AskState.OPEN, AskState.NOT_YET}:
            found.append((device, ask, sum(each.struck is None for each in seen.tries)))
    return found


def _due(work: Work, device: Followed, ask: Ask, tries: int) -> DueView:
    return DueView(
        id=None,
        build=None,
        case_number=device.case_number,
        given_name=device.given_name,
        device=device.device,
        purpose=device.purpose,
        name=ask.name,
        words=ask.words,
        due_on=ask.due_on,
        closes_on=ask.closes_on,
        late=ask.due_on < work.today,
        questions=True,
        tries=tries,
    )


def _purposes(work: Work, checks: list[CheckDue]) -> dict[int, str]:
    found = sa.select(DeviceRow.id, DeviceRow.purpose).where(DeviceRow.id.in_({each.device for each in checks}))
    return {row.id: row.purpose for row in work.session.execute(found)} if checks else {}


def _talked_about(work: Work, devices: set[int]) -> dict[int, list[date]]:
    """Days on which somebody looks at what was made for a device, or did: checks that are due, and signed ones."""
    if not devices:
        return {}
    signed = (
        sa.select(FollowUpRow.device_id, CheckRow.checked_on)
        .join(CheckRow, CheckRow.build_id == FollowUpRow.build_id)
        .where(FollowUpRow.device_id.in_(devices), CheckRow.kind == CheckKind.FOLLOW_UP)
    )
    found: dict[int, list[date]] = {}
    for check in checks_due(work, TOGETHER.days):
        found.setdefault(check.device, []).append(check.due_on)
    for device, on in work.session.execute(signed):
        found.setdefault(device, []).append(on)
    return found
