"""How somebody gets on, as the history of a case tells it: what was said at follow-ups, and goals."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from service.casefile.events import Event
from service.kit.days import full_day
from service.outcomes.goal_schemas import GoalView
from service.outcomes.rules import Outcome
from service.outcomes.schemas import AskView, FollowUpView


def gets_on(asks: Iterable[AskView], goals: Iterable[GoalView], address: str) -> Iterator[Event]:
    """What was said of each device, and each goal as it was agreed, scored and ended."""
    for ask in asks:
        for found in (*([ask.answer] if ask.answer else []), *ask.tries):
            yield _asked(ask, found, f"{address}/follow-ups")
    for goal in goals:
        yield from _goal(goal, f"{address}/goals")


def _asked(ask: AskView, found: FollowUpView, href: str) -> Event:
    about = f"the {ask.side} {ask.purpose} device, {ask.words}"
    if found.outcome is Outcome.ANSWERED:
        what = f"Said how it goes with {about}"
    elif found.outcome is Outcome.DECLINED:
        what = f"Would rather not say how it goes with {about}"
    else:
        what = f"Nobody was reached to ask about {about}"
    struck = ""
    if found.struck:
        struck = f"struck through by {found.struck.by}, {full_day(found.struck.at.date())}: {found.struck.why}"
    return Event(found.on, "diamond", what, "; ".join(_details(found)), href, struck=struck)


def _details(found: FollowUpView) -> Iterator[str]:
    if found.used is False:
        yield f"not used any more{f': {found.why_not.label}' if found.why_not else ''}"
    if found.days_a_week is not None:
        yield f"worn on {found.days_a_week} days a week"
    if found.comfort is not None:
        yield f"comfort {found.comfort} of 10"
    if found.pain is not None:
        yield f"pain: {found.pain.label}"
    yield found.way.label


def _goal(goal: GoalView, href: str) -> Iterator[Event]:
    said = f"“{goal.words}”"
    yield Event(goal.agreed_on, "triangle", f"A goal was agreed on: {said}", goal.voice.label, href)
    for score in goal.scores:
        judged = f"{score.level_words}, {score.voice.label}{f': {score.words}' if score.words else ''}"
        yield Event(score.on, "triangle", f"The goal {said} was scored", judged, href)
    if goal.ended_on is not None:
        yield Event(goal.ended_on, "cross", f"The goal {said} ended", goal.ended_why or "", href)
