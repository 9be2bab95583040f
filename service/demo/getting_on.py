"""How people got on with what they wear: what was said at follow-ups, goals, and scores of questionnaires."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import Role
from service.access.work import Work
from service.demo.asking import as_family
from service.demo.telling import Act, Case, Event, Told
from service.outcomes import actions as outcomes
from service.outcomes.goal_schemas import AddGoal, ScoreGoal
from service.outcomes.schemas import AddQuestionnaireScore, RecordFollowUp
from service.outcomes.tables import GoalRow
from service.recipients.tables import RecipientRow
from service.safety import actions as safety
from service.safety.schemas import CloseIncident, JudgeIncident


def _how_it_goes(told: Told, work: Work, case: Case, words: Event) -> None:
    """What came of asking; `judged` says what a clinician made of harm that was said then."""
    judged = words.pop("judged", None)
    words["device"] = case.devices[words.pop("key")]
    speaker = as_family(work, case) if words.get("way") == "link" else work
    made = outcomes.record_follow_up(speaker, case.number, RecordFollowUp.model_validate(words))
    if judged is not None and made.incident is not None:
        clinician = Work(work.session, told.actors[Role.CLINICIAN], work.now)
        safety.judge(clinician, made.incident, JudgeIncident(serious=False, why=judged["why"]))
        safety.close_incident(clinician, made.incident, CloseIncident(outcome=judged["outcome"]))


def _goal(_: Told, work: Work, case: Case, words: Event) -> None:
    outcomes.add_goal(work, case.number, AddGoal.model_validate(words))


def _goal_scored(_: Told, work: Work, case: Case, words: Event) -> None:
    mine = (
        sa.select(GoalRow.id)
        .join(RecipientRow, RecipientRow.id == GoalRow.recipient_id)
        .where(RecipientRow.case_number == case.number, GoalRow.words == words.pop("goal"))
    )
    outcomes.score_goal(work, case.number, work.session.scalars(mine).one(), ScoreGoal.model_validate(words))


def _questionnaire(_: Told, work: Work, case: Case, words: Event) -> None:
    outcomes.add_questionnaire_score(work, case.number, AddQuestionnaireScore.model_validate(words))


ACTS: dict[str, Act] = {
    "how_it_goes": _how_it_goes,
    "goal": _goal,
    "goal_scored": _goal_scored,
    "questionnaire": _questionnaire,
}
