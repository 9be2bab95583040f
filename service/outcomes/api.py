"""REST face of follow-ups, goals and scores."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Page
from service.kit.schema import Id
from service.outcomes import actions, queries
from service.outcomes.goal_schemas import AddGoal, ChangeGoal, EndGoal, GoalsView, GoalView, ScoreGoal
from service.outcomes.schemas import (
    AddQuestionnaireScore,
    AskView,
    DueView,
    FollowUpView,
    QuestionnaireScoreView,
    RecordedFollowUp,
    RecordFollowUp,
    SeeToFollowUp,
    StrikeFollowUp,
)
from service.web.edge import reads, writes

router = APIRouter(tags=["outcomes"])

CASE = "/recipients/{case_number}"
Days = Annotated[int, Query(ge=0, le=400, description="Due within so many days.")]


@router.get("/follow-ups")
@reads
def due(work: Work, within_days: Days = 14) -> Page[DueView]:
    """Whom to ask how it goes, about a device and about what was made for it, the longest due first."""
    return Page(items=queries.due(work, within_days))


@router.post(f"{CASE}/follow-ups", status_code=201)
@writes
def record_follow_up(work: Work, case_number: str, command: RecordFollowUp) -> RecordedFollowUp:
    """Record what came of asking how somebody gets on with a device; `advice` is what to tell them first of all."""
    return actions.record_follow_up(work, case_number, command)


@router.get(f"{CASE}/follow-ups")
@reads
def follow_ups(work: Work, case_number: str) -> Page[AskView]:
    """Every ask of every device, with where it stands and what came of it."""
    return Page(items=queries.follow_ups(work, case_number))


@router.post(f"{CASE}/follow-ups/{{follow_up}}/strike", status_code=201)
@writes
def strike_follow_up(work: Work, case_number: str, follow_up: Id, command: StrikeFollowUp) -> FollowUpView:
    """Strike a follow-up through: it stays on record and counts no more."""
    return actions.strike_follow_up(work, case_number, follow_up, command)


@router.post(f"{CASE}/follow-ups/{{follow_up}}/seen-to", status_code=201)
@writes
def see_to_follow_up(work: Work, case_number: str, follow_up: Id, command: SeeToFollowUp) -> FollowUpView:
    """A device is said not to be used any more: stop it, or say that it is used after all."""
    return actions.see_to_follow_up(work, case_number, follow_up, command)


@router.post(f"{CASE}/goals", status_code=201)
@writes
def add_goal(work: Work, case_number: str, command: AddGoal) -> GoalView:
    """Record a goal as it was agreed, with its five levels in words."""
    return actions.add_goal(work, case_number, command)


@router.get(f"{CASE}/goals")
@reads
def goals(work: Work, case_number: str) -> GoalsView:
    """The goals with their scores, and how far they were attained."""
    return queries.goals(work, case_number)


@router.patch(f"{CASE}/goals/{{goal}}")
@writes
def change_goal(work: Work, case_number: str, goal: Id, command: ChangeGoal) -> GoalView:
    """Put a goal right that nobody has scored yet."""
    return actions.change_goal(work, case_number, goal, command)


@router.post(f"{CASE}/goals/{{goal}}/scores", status_code=201)
@writes
def score_goal(work: Work, case_number: str, goal: Id, command: ScoreGoal) -> GoalView:
    """Record the level that was reached, in one voice."""
    return actions.score_goal(work, case_number, goal, command)


@router.post(f"{CASE}/goals/{{goal}}/end", status_code=201)
@writes
def end_goal(work: Work, case_number: str, goal: Id, command: EndGoal) -> GoalView:
    """End a goal, with a reason."""
    return actions.end_goal(work, case_number, goal, command)


@router.post(f"{CASE}/questionnaire-scores", status_code=201)
@writes
def add_questionnaire_score(work: Work, case_number: str, command: AddQuestionnaireScore) -> QuestionnaireScoreView:
    """Record the score of a licensed questionnaire that was filled in elsewhere."""
    return actions.add_questionnaire_score(work, case_number, command)


@router.get(f"{CASE}/questionnaire-scores")
@reads
def questionnaire_scores(work: Work, case_number: str) -> Page[QuestionnaireScoreView]:
    """The scores of questionnaires, the newest first."""
    return Page(items=queries.questionnaire_scores(work, case_number))
