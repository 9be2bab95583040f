"""The story of invented people, told into the register act by act; `seed_data/register.json` holds it."""

from __future__ import annotations

import json

from service.access.permissions import Role
from service.demo import asking, building, getting_on, history, parts, people
from service.demo.telling import Act, Case, Event, Told
from service.settings import resource

ACTS: dict[str, Act] = {
    **people.ACTS,
    **parts.ACTS,
    **asking.ACTS,
    **building.ACTS,
    **history.ACTS,
    **getting_on.ACTS,
}
"""What the register does for each thing that can happen."""

_BY_CLINICIANS = {"suitability"}


def read_story() -> list[list[Event]]:
    """The library's, the lots' and the volunteers' events, then everybody's, oldest first, from our own file."""
    found: list[list[Event]] = json.loads((resource("seed_data") / "register.json").read_text(encoding="utf-8"))
    return found


def tell(story: list[list[Event]], told: Told) -> None:
    """Do everything in the order in which it happened, across all people."""
    events = [(event, case) for person in story for case in [Case()] for event in person]
    for event, case in sorted(events, key=lambda each: -each[0]["ago"]):  # stable: a person's own order is kept
        words = dict(event)
        ago, what = words.pop("ago"), words.pop("what")
        usually = Role.CLINICIAN if what in _BY_CLINICIANS else Role.COORDINATOR
        actor = told.actors[words.pop("by", usually)]
        ACTS[what](told, told.work(actor, ago), case, words)
