"""What waits beside the work list, in sentences: harm first, then calls to make, then requests that are late."""

from __future__ import annotations

from typing import NamedTuple

from service.access.permissions import May
from service.access.work import Work
from service.builds.queries import waiting_for_a_check
from service.handovers.queries import follow_ups
from service.kit.days import full_day
from service.notices.queries import notices_open
from service.notifications.queries import to_do
from service.outcomes.queries import said_stopped
from service.requests.queries import request_counts
from service.requests.schemas import RequestFilter
from service.safety.queries import to_look_at
from service.web.words import counted


class Beside(NamedTuple):
    """A sentence, where to act on it, and whether it presses."""

    says: str
    href: str
    presses: bool


def beside(work: Work) -> list[Beside]:
    """Whatever of it is for the actor; nothing where nothing waits."""
    found: list[Beside] = []
    if work.actor.can(May.JUDGE_INCIDENTS):
        found += _safety(work)
    if work.actor.can(May.SEE_NOTICES):
        found += _notices(work)
    if work.actor.can(May.SEE_MESSAGES):
        calls = to_do(work)
        if calls.count:
            people = counted(calls.count, "person is", "people are").capitalize()
            found.append(Beside(f"{people} to be rung or written to.", "/messages", calls.urgent > 0))
    if work.actor.can(May.ORDER_REQUESTS):
        late = request_counts(work, RequestFilter()).overdue
        if late:
            asked = counted(late, "request").capitalize()
            found.append(Beside(f"{asked} should have been answered already.", "/requests", presses=False))
    if work.actor.can(May.SEE_BUILDS):
        found += _builds(work)
    if work.actor.can(May.SEE_TO_FOLLOW_UPS) and (stopped := said_stopped(work)):
        devices = counted(len(stopped), "device is", "devices are").capitalize()
        found.append(Beside(f"{devices} said not to be used any more.", "/follow-ups", presses=False))
    return found


def _builds(work: Work) -> list[Beside]:
    """What waits for its bench check, and whom to ask how it goes."""
    found = []
    if made := waiting_for_a_check(work):
        said = counted(made, "build waits", "builds wait").capitalize()
        found.append(Beside(f"{said} for a bench check by somebody else.", "/builds", presses=False))
    if late := [each for each in follow_ups(work, 0) if each.late]:
        people = counted(len(late), "person", "people").capitalize()
        found.append(Beside(f"{people} should have been asked how it goes.", "/follow-ups", presses=False))
    return found


def _safety(work: Work) -> list[Beside]:
    waiting, found = to_look_at(work), []
    if unjudged := len(waiting.incidents):
        said = counted(unjudged, "incident has", "incidents have").capitalize()
        found.append(Beside(f"{said} not been judged yet.", "/safety", presses=True))
    if looks := [each.due_on for each in waiting.reviews]:
        limbs = counted(len(looks), "limb", "limbs").capitalize()
        said = f"{limbs} should be looked at, the first by {full_day(min(looks))}."
        found.append(Beside(said, "/safety", min(looks) <= work.today))
    return found


def _notices(work: Work) -> list[Beside]:
    """Open notices; to a volunteer only while somebody they help still has what it is about."""
    found = notices_open(work)
    if not found.count or not (found.remaining or work.actor.can(May.KEEP_NOTICES)):
        return []
    said = counted(found.count, "safety notice is", "safety notices are").capitalize()
    devices = counted(found.remaining, "device still holds", "devices still hold")
    rest = (
        f"{devices} what {'it is' if found.count == 1 else 'they are'} about"
        if found.remaining
        else "no device remains"
    )
    return [Beside(f"{said} open: {rest}.", "/notices", found.remaining > 0)]
