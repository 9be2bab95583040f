"""HTML face of goals: agreed on, scored in more than one voice, ended."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.kit.schema import Id
from service.outcomes import actions, showing
from service.outcomes.goal_schemas import AddGoal, ChangeGoal, EndGoal, ScoreGoal
from service.outcomes.posted import goal_values
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter(prefix="/recipients/{case_number}/goals")


@router.get("")
@reads
def goals(work: Work, request: Request, case_number: str) -> Response:
    """The goals of somebody, and how far they were reached."""
    return render(request, "outcomes/goals.html", showing.of_goals(work, case_number))


@router.get("/new")
@reads
def goal_form(work: Work, request: Request, case_number: str, instead_of: Id | None = None) -> Response:
    """The form for a goal; `instead_of` is the ended one that it is written after."""
    actions.may_keep_goals(work)
    typed = {"instead_of": instead_of} if instead_of else {}
    return render(
        request, "outcomes/goal.html", {**showing.of_goal(work, case_number, None), **UNTOUCHED, "typed": typed}
    )


@router.post("/new")
@writes
def add_goal(work: Work, case_number: str, form: Posted) -> Response:
    """Record a goal as it was agreed."""
    with shown_again("outcomes/goal.html", form, lambda: showing.of_goal(work, case_number, None)):
        actions.add_goal(work, case_number, command(AddGoal, goal_values(filled(form))))
    return _to(case_number, "goal-agreed")


@router.get("/{goal}/change")
@reads
def change_form(work: Work, request: Request, case_number: str, goal: Id) -> Response:
    """The form that puts a goal right."""
    actions.may_keep_goals(work)
    context = showing.of_goal(work, case_number, goal)
    return render(request, "outcomes/goal.html", {**context, **UNTOUCHED, "typed": _typed(context)})


@router.post("/{goal}/change")
@writes
def change_goal(work: Work, case_number: str, goal: Id, form: Posted) -> Response:
    """Put a goal right that nobody has scored."""
    with shown_again("outcomes/goal.html", form, lambda: showing.of_goal(work, case_number, goal)):
        actions.change_goal(work, case_number, goal, command(ChangeGoal, goal_values(filled(form))))
    return _to(case_number, "goal-changed")


@router.get("/{goal}/score")
@reads
def score_form(work: Work, request: Request, case_number: str, goal: Id) -> Response:
    """The form that scores a goal."""
    actions.may_keep_goals(work)
    return render(request, "outcomes/score.html", {**showing.of_goal(work, case_number, goal), **UNTOUCHED})


@router.post("/{goal}/score")
@writes
def score_goal(work: Work, case_number: str, goal: Id, form: Posted) -> Response:
    """Record the level that was reached."""
    with shown_again("outcomes/score.html", form, lambda: showing.of_goal(work, case_number, goal)):
        actions.score_goal(work, case_number, goal, command(ScoreGoal, filled(form)))
    return _to(case_number, "goal-scored")


@router.get("/{goal}/end")
@reads
def end_form(work: Work, request: Request, case_number: str, goal: Id) -> Response:
    """The form that ends a goal."""
    actions.may_keep_goals(work)
    return render(request, "outcomes/end_goal.html", {**showing.of_goal(work, case_number, goal), **UNTOUCHED})


@router.post("/{goal}/end")
@writes
def end_goal(work: Work, case_number: str, goal: Id, form: Posted) -> Response:
    """End a goal, with a reason."""
    with shown_again("outcomes/end_goal.html", form, lambda: showing.of_goal(work, case_number, goal)):
        actions.end_goal(work, case_number, goal, command(EndGoal, filled(form)))
    return _to(case_number, "goal-ended")


def _typed(context: dict[str, object]) -> dict[str, object]:
    """A goal as its form shows it."""
    goal = context["goal"]
    levels = {f"levels.{level}": words for level, words in goal.levels.items()}  # type: ignore[attr-defined]
    return {**goal.model_dump(mode="json", include={"words", "weight", "baseline"}), **levels}  # type: ignore[attr-defined]


def _to(case_number: str, done: str) -> Response:
    return RedirectResponse(f"/recipients/{case_number}/goals?done={done}", 303)
