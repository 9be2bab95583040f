"""What the forms of matching post, read into what the commands take."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData

from service.kit.errors import Conflict
from service.kit.schema import Command, Text
from service.matching.schemas import AcceptedPlan, Points, WeightsView
from service.web.forms import filled

DECLINE_REASONS = ("No time just now", "Away", "The printer is out of order", "No such colour or material")
"""Reasons to tap; another can be typed."""


class TryWeights(Command):
    """Weights to be tried, each as it is when not given; and a sentence to show, since one model holds the query."""

    site: Text | None = None
    done: Text = ""
    late: Points | None = None
    distance: Points | None = None
    post: Points | None = None
    colour: Points | None = None
    change: Points | None = None
    load: Points | None = None
    moved: Points | None = None

    def over(self, now: WeightsView) -> WeightsView | None:
        """What is to be tried; None when nothing differs."""
        given = self.model_dump(exclude={"site", "done"}, exclude_none=True)
        asked = now.model_copy(update=given)
        return asked if asked != now else None


def accepted(form: FormData) -> dict[str, Any]:
    """Which requests were ticked: each is a field `request-12`."""
    return {"requests": [name.removeprefix("request-") for name in filled(form) if name.startswith("request-")]}


def instead(request_id: int, form: FormData) -> dict[str, Any]:
    """Somebody chosen instead, and why."""
    given = filled(form)
    chosen = {"request": request_id, "volunteer": given.get("volunteer", ""), "why": given.get("why", "")}
    return {"requests": [], "instead": [chosen]}


def nothing_skipped(done: AcceptedPlan) -> None:
    """Raise Conflict with the reason when the one that was chosen could not be asked."""
    if done.skipped:
        raise Conflict(done.skipped[0].why)


def declined(form: FormData) -> dict[str, Any]:
    """Why somebody says no: tapped, typed, or both."""
    given = filled(form)
    return {"why": ". ".join(each for each in (given.get("reason", ""), given.get("why", "")) if each)}
