"""Recording follow-ups and goals. Each act is one transaction with its audit entry, and with what harm opens."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.devices.actions import change_device
from service.devices.rules import StoppedWhy, Use
from service.devices.schemas import ChangeDevice
from service.devices.tables import DeviceRow
from service.kit.errors import Conflict, Invalid
from service.notifications.families import FamilyMessage
from service.notifications.outdated import drop_waiting
from service.outcomes import goal_rules
from service.outcomes.goal_rows import goals_of
from service.outcomes.goal_schemas import AddGoal, ChangeGoal, EndGoal, GoalView, ScoreGoal
from service.outcomes.keeping import (
    meant,
    open_what_harms,
    own_device,
    own_follow_up,
    own_goal,
    same_again,
    way_of,
)
from service.outcomes.queries import questionnaire_scores
from service.outcomes.rows import standing, told
from service.outcomes.rules import Outcome, advice, answers_problem
from service.outcomes.schemas import (
    AddQuestionnaireScore,
    FollowUpView,
    QuestionnaireScoreView,
    RecordedFollowUp,
    RecordFollowUp,
    SeeToFollowUp,
    StrikeFollowUp,
)
from service.outcomes.tables import DeviceFollowUpRow, GoalRow, GoalScoreRow, QuestionnaireScoreRow
from service.recipients.queries import seen_recipient
from service.recipients.schemas import SeenRecipient


@usecase(May.RECORD_FOLLOW_UPS)
def may_record(_work: Work) -> None:
    """Whether to show the forms of follow-ups at all; refuses as recording would."""


@usecase(May.RECORD_FOLLOW_UPS)
def record_follow_up(work: Work, case_number: str, command: RecordFollowUp) -> RecordedFollowUp:
    """Record what came of asking how somebody gets on with a device; harm and a lot of pain open an incident.

    The very same sent again is recorded once. Raises Invalid for answers that contradict each other and for a day on
    which nothing was asked, Conflict for an ask that was answered already.
    """
    seen = seen_recipient(work, case_number)
    way, on = way_of(work, command), command.on or work.today
    if (problem := answers_problem(command.said, command.outcome)) is not None:
        raise Invalid.at(*problem)
    device, ask = meant(work, seen, command, on)
    before = standing(told(work, [device.device]).get((device.device, ask.name), []))
    if before is not None:
        if command.outcome is Outcome.NOT_REACHED:
            raise Conflict("They have answered this already, so nobody need be reached.")
        again = same_again(before, command, on, way)
        return RecordedFollowUp(**again.model_dump(), advice=list(advice(command.said)))
    answers = {name: getattr(command.said, name) for name in type(command.said).__slots__}
    row = DeviceFollowUpRow(
        **{**answers, "used_for": [each.value for each in command.said.used_for]},
        recipient_id=seen.id,
        device_id=device.device,
        ask=ask.name,
        outcome=command.outcome,
        said_on=on,
        way=way,
        answered_by=command.answered_by,
        incident_id=open_what_harms(work, seen, device.device, command, ask),
        recorded_at=work.now,
        recorded_by=work.actor.name,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below
    changes = {"outcome": [None, command.outcome.value], "ask": [None, ask.name]}
    note(work, "recorded", "follow-up", subject_id=row.id, recipient_id=seen.id, changes=changes)
    if command.outcome is not Outcome.NOT_REACHED:
        asked = (FamilyMessage.HOW_IT_GOES, FamilyMessage.CALL_HOW_IT_GOES)
        drop_waiting(work, *asked, about=f"{device.device}:{ask.name}")
    return RecordedFollowUp(**_view(work, row).model_dump(), advice=list(advice(command.said)))


@usecase(May.SEE_TO_FOLLOW_UPS)
def may_see_to(_work: Work) -> None:
    """Whether to show the form that strikes a follow-up through; refuses as striking would."""


@usecase(May.SEE_TO_FOLLOW_UPS)
def strike_follow_up(work: Work, case_number: str, follow_up: int, command: StrikeFollowUp) -> FollowUpView:
    """Strike a follow-up through, with who and why; what it opened stays. Raises Conflict when it is struck already."""
    seen = seen_recipient(work, case_number)
    row = own_follow_up(work, seen, follow_up)
    if row.struck_at is not None:
        raise Conflict("This follow-up was struck through already. There is nothing more to do.")
    row.struck_at, row.struck_by, row.struck_why = work.now, work.actor.name, command.why
    changes = {"why": [None, command.why]}
    note(work, "struck", "follow-up", subject_id=row.id, recipient_id=seen.id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return _view(work, row)


@usecase(May.SEE_TO_FOLLOW_UPS)
def see_to_follow_up(work: Work, case_number: str, follow_up: int, command: SeeToFollowUp) -> FollowUpView:
    """See to it that a device is said not to be used any more: stop it for the reason given, or leave it as it is.

    Raises Conflict where nothing of the kind was said, or somebody saw to it.
    """
    seen = seen_recipient(work, case_number)
    row = own_follow_up(work, seen, follow_up)
    if row.used is not False or row.struck_at is not None:
        raise Conflict("This does not say that the device is not used any more. There is nothing to see to.")
    if row.seen_to_at is not None:
        raise Conflict(f"{row.seen_to_by} has seen to this already.")
    row.seen_to_at, row.seen_to_by = work.now, work.actor.name
    device = work.session.get_one(DeviceRow, row.device_id, with_for_update=True)
    if command.stopped and device.use is not Use.STOPPED:
        why = row.why_not or StoppedWhy.OTHER
        words = row.why_not_words or (why.label if row.why_not else "no reason was given")
        given = {"use": Use.STOPPED, "stopped_why": why, "stopped_reason": words, "stopped_on": row.said_on}
        change_device(work, case_number, row.device_id, ChangeDevice.model_validate(given))
    changes = {"stopped": [None, command.stopped]}
    note(work, "saw to", "follow-up", subject_id=row.id, recipient_id=seen.id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return _view(work, row)


@usecase(May.RECORD_FOLLOW_UPS)
def add_questionnaire_score(work: Work, case_number: str, command: AddQuestionnaireScore) -> QuestionnaireScoreView:
    """Record the score of a licensed questionnaire; the same sent again is recorded once. Raises Invalid."""
    seen = seen_recipient(work, case_number)
    on = command.on or work.today
    if (problem := goal_rules.agreed_problem(on, seen.birth_date, work.today)) is not None:
        raise Invalid.at("on", problem)
    own_device(work, seen, command.device)
    given: dict[str, Any] = command.model_dump(exclude={"on", "device"})
    like = QuestionnaireScoreRow(**given, recipient_id=seen.id, device_id=command.device, scored_on=on)
    mine = {"recipient_id": seen.id, "device_id": command.device, "scored_on": on, **given}
    same = sa.select(QuestionnaireScoreRow).filter_by(**mine)
    row = work.session.scalars(same).first()
    if row is None:
        row = like
        row.recorded_at, row.recorded_by = work.now, work.actor.name
        work.session.add(row)
        work.session.flush()  # the id is needed below
        note(work, "recorded", "questionnaire score", subject_id=row.id, recipient_id=seen.id)
    return next(each for each in questionnaire_scores(work, case_number) if each.id == row.id)


@usecase(May.KEEP_GOALS)
def may_keep_goals(_work: Work) -> None:
    """Whether to show the forms of goals at all; refuses as recording would."""


@usecase(May.KEEP_GOALS)
def add_goal(work: Work, case_number: str, command: AddGoal) -> GoalView:
    """Record a goal as it was agreed; the very same that is pursued already is recorded once. Raises Invalid."""
    seen = seen_recipient(work, case_number)
    agreed_on = command.agreed_on or work.today
    if (problem := goal_rules.agreed_problem(agreed_on, seen.birth_date, work.today)) is not None:
        raise Invalid.at("agreed_on", problem)
    levels = _levels(command.levels)
    own_device(work, seen, command.device)
    if command.instead_of is not None:
        _check_ended(work, seen, command.instead_of)
    given: dict[str, Any] = command.model_dump(include={"words", "voice", "weight", "baseline"})
    for each in goals_of(work, seen.id, GoalRow.ended_on.is_(None), GoalRow.words == command.words):
        if (list(each.levels.values()), each.weight, each.baseline) == (levels, command.weight, command.baseline):
            return each
        raise Conflict("This goal is pursued already. Score it; or end it first, and write it anew.")
    row = GoalRow(
        **given,
        recipient_id=seen.id,
        device_id=command.device,
        instead_of_id=command.instead_of,
        levels=levels,
        agreed_on=agreed_on,
        recorded_at=work.now,
        recorded_by=work.actor.name,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below
    note(work, "agreed", "goal", subject_id=row.id, recipient_id=seen.id)
    return _goal(work, seen, row.id)


@usecase(May.KEEP_GOALS)
def change_goal(work: Work, case_number: str, goal: int, command: ChangeGoal) -> GoalView:
    """Put a goal right that nobody has scored; raises Conflict for one that was scored or has ended, Invalid."""
    seen = seen_recipient(work, case_number)
    row = own_goal(work, seen, goal)
    if row.ended_on is not None:
        raise Conflict("This goal has ended. Write a new one.")
    if work.session.scalar(sa.select(sa.exists().where(GoalScoreRow.goal_id == row.id))):
        raise Conflict("This goal was scored, so it stays as it was agreed. End it with a reason, and write it anew.")
    given: dict[str, Any] = command.model_dump(exclude_none=True, exclude={"levels"})
    if command.levels is not None:
        given["levels"] = _levels(command.levels)
    changes = {name: [getattr(row, name), value] for name, value in given.items() if getattr(row, name) != value}
    for name, value in given.items():
        setattr(row, name, value)
    note(work, "changed", "goal", subject_id=row.id, recipient_id=seen.id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return _goal(work, seen, row.id)


@usecase(May.KEEP_GOALS)
def score_goal(work: Work, case_number: str, goal: int, command: ScoreGoal) -> GoalView:
    """Record the level that was reached, in one voice; the same sent again is recorded once.

    Raises Invalid for a day that cannot be, Conflict for a goal that has ended and for a day on which the same voice
    said another level.
    """
    seen = seen_recipient(work, case_number)
    row = own_goal(work, seen, goal)
    on = command.on or work.today
    if row.ended_on is not None and (command.on is None or on > row.ended_on):
        raise Conflict(f"This goal has ended: {row.ended_why} Score the one that was written after it.")
    if (problem := goal_rules.scored_problem(on, row.agreed_on, row.ended_on, work.today)) is not None:
        raise Invalid.at("on", problem)
    same_day = sa.select(GoalScoreRow).where(
        GoalScoreRow.goal_id == row.id, GoalScoreRow.scored_on == on, GoalScoreRow.voice == command.voice
    )
    before = work.session.scalars(same_day).one_or_none()
    if before is not None:
        if (before.level, before.words) == (command.level, command.words):
            return _goal(work, seen, row.id)
        raise Conflict(f"This was scored on that day already, {command.voice.label}. A score stays; give another day.")
    given: dict[str, Any] = command.model_dump(include={"level", "voice", "words"})
    scored = GoalScoreRow(goal_id=row.id, scored_on=on, recorded_at=work.now, recorded_by=work.actor.name, **given)
    work.session.add(scored)
    work.session.flush()  # the id is needed below
    changes = {"level": [None, command.level], "voice": [None, command.voice.value]}
    note(work, "scored", "goal", subject_id=row.id, recipient_id=seen.id, changes=changes)
    return _goal(work, seen, row.id)


@usecase(May.KEEP_GOALS)
def end_goal(work: Work, case_number: str, goal: int, command: EndGoal) -> GoalView:
    """End a goal, with a reason; raises Conflict for one that has ended, Invalid for a day that cannot be."""
    seen = seen_recipient(work, case_number)
    row = own_goal(work, seen, goal)
    if row.ended_on is not None:
        raise Conflict("This goal has ended already. There is nothing more to do.")
    on = command.on or work.today
    newest = sa.select(sa.func.max(GoalScoreRow.scored_on)).where(GoalScoreRow.goal_id == row.id)
    first = max(row.agreed_on, work.session.scalar(newest) or row.agreed_on)
    if not first <= on <= work.today:
        raise Invalid.at("on", f"Give a day from {first.isoformat()}, when it was last talked about, until today.")
    row.ended_on, row.ended_why, row.ended_by = on, command.why, work.actor.name
    note(work, "ended", "goal", subject_id=row.id, recipient_id=seen.id, changes={"why": [None, command.why]})
    work.session.flush()  # the view reads what was just written
    return _goal(work, seen, row.id)


def _view(work: Work, row: DeviceFollowUpRow) -> FollowUpView:
    return next(each for each in told(work, [row.device_id])[row.device_id, row.ask] if each.id == row.id)


def _goal(work: Work, seen: SeenRecipient, goal: int) -> GoalView:
    return goals_of(work, seen.id, GoalRow.id == goal)[0]


def _levels(given: dict[int, str]) -> list[str]:
    if (problem := goal_rules.levels_problem(given)) is not None:
        raise Invalid.at(*problem)
    return [given[level] for level in goal_rules.LEVELS]


def _check_ended(work: Work, seen: SeenRecipient, goal: int) -> None:
    before = goals_of(work, seen.id, GoalRow.id == goal)
    if not before:
        raise Invalid.at("instead_of", "There is no such goal in this case.")
    if before[0].ended_on is None:
        raise Invalid.at("instead_of", "That goal is pursued still. End it with a reason first.")
