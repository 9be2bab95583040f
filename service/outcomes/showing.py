"""What the pages of follow-ups and goals show."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from service.access.work import Work
from service.devices.rules import StoppedWhy
from service.kit.errors import NotFound
from service.outcomes import queries
from service.outcomes.goal_rules import HEAVIEST, LEVEL_WORDS, LEVELS, Voice
from service.outcomes.rules import AnsweredBy, AskState, Pain, Recommend, UsedFor, Way
from service.outcomes.schemas import AskView
from service.recipients.queries import seen_recipient

COMFORT = {0: "0: it hurts to wear", 10: "10: they forget that they wear it"}


def of_case(work: Work, case_number: str) -> dict[str, Any]:
    """The follow-ups of a case, device by device, and the scores of questionnaires."""
    asks = queries.follow_ups(work, case_number)
    return {
        "person": seen_recipient(work, case_number),
        "devices": [list(asks_of) for _device, asks_of in groupby(asks, key=lambda each: each.device)],
        "open": [each for each in asks if each.state is AskState.OPEN],
        "waiting": [each for each in asks if each.answer and each.answer.waits],
        "scores": queries.questionnaire_scores(work, case_number),
    }


def of_asking(work: Work, case_number: str, device: int | None) -> dict[str, Any]:
    """What the form of a call or a visit offers: the devices that are asked about, those that are open first."""
    asks = queries.follow_ups(work, case_number)
    newest = {each.device: each for each in reversed(asks) if each.state is not AskState.NOT_YET}
    current = sorted(newest.values(), key=lambda each: (each.device != device, each.state is not AskState.OPEN))
    return {
        "person": seen_recipient(work, case_number),
        "asks": current,
        "device": device,
        "ways": [(each.value, each.label.capitalize()) for each in Way if each is not Way.LINK],
        "voices": [(each.value, each.label.capitalize()) for each in AnsweredBy],
        "whys": [(each.value, each.label.capitalize()) for each in StoppedWhy],
        "days": [(str(days), str(days)) for days in range(8)],
        "comfort": [(str(level), COMFORT.get(level, str(level))) for level in range(11)],
        "pains": [(each.value, "Not at all" if each is Pain.NONE else each.label.capitalize()) for each in Pain],
        "uses": [(each.value, each.label.capitalize()) for each in UsedFor],
        "recommends": [(each.value, each.value.capitalize()) for each in Recommend],
    }


def of_follow_up(work: Work, case_number: str, follow_up: int) -> dict[str, Any]:
    """One follow-up, with the ask it belongs to; raises NotFound."""
    ask, found = next(
        ((ask, each) for ask in queries.follow_ups(work, case_number) for each in _all_of(ask) if each.id == follow_up),
        (None, None),
    )
    if found is None:
        raise NotFound("There is no such follow-up in this case.")
    return {"person": seen_recipient(work, case_number), "ask": ask, "found": found}


def _all_of(ask: AskView) -> list[Any]:
    return [*([ask.answer] if ask.answer else []), *ask.tries]


def of_goals(work: Work, case_number: str) -> dict[str, Any]:
    """The goals of a case, and how far they were attained."""
    found = queries.goals(work, case_number)
    return {
        "person": seen_recipient(work, case_number),
        "pursued": [each for each in found.items if each.ended_on is None],
        "ended": [each for each in found.items if each.ended_on is not None],
        "attained": found.attained,
        "level_words": LEVEL_WORDS,
        "levels": LEVELS,
    }


def of_goal(work: Work, case_number: str, goal: int | None) -> dict[str, Any]:
    """What the forms of a goal offer; `goal` None is one to be written. Raises NotFound."""
    found = next((each for each in queries.goals(work, case_number).items if each.id == goal), None)
    if goal is not None and found is None:
        raise NotFound("There is no such goal in this case.")
    return {
        "person": seen_recipient(work, case_number),
        "goal": found,
        "levels": LEVELS,
        "level_words": LEVEL_WORDS,
        "voices": [(each.value, _VOICES[each]) for each in Voice],
        "weights": [(str(weight), _WEIGHTS[weight - 1]) for weight in range(1, HEAVIEST + 1)],
    }


_VOICES = {
    Voice.RECIPIENT: "The wearer",
    Voice.GUARDIAN: "A guardian",
    Voice.HELPER: "A helper",
}
_WEIGHTS = ("It would be nice", "It matters", "It matters most")
