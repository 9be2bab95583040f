"""What is true of follow-ups without asking a database: when it is asked, where an ask stands, what cannot be."""

from __future__ import annotations

import enum
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import count
from typing import Final

from service.devices.rules import StoppedWhy
from service.gate.checklists import due_days
from service.handovers.rules import counts_from, follow_up_words
from service.kit.days import full_day
from service.recipients.rules import birthday
from service.safety.rules import SKIN, SkinSeen

OPEN_FOR: Final = timedelta(days=60)
"""How long an ask is open before it counts as lost, unless the next one is due sooner. Judgement."""

TOGETHER: Final = timedelta(days=7)
"""A family is not asked how it goes twice within so many days. Judgement."""

_OF_A_BUILD_ONLY: Final = "wear_in"
_YEAR: Final = "year_"


@dataclass(frozen=True, slots=True)
class Ask:
    """A day on which it is asked how somebody gets on with a device.

    What is said on a day from `counts_from` to `counts_until` is its answer; after `closes_on` it is lost without one.
    """

    name: str
    due_on: date
    counts_from: date
    closes_on: date
    counts_until: date

    @property
    def words(self) -> str:
        """When it is, as people say it."""
        return ask_words(self.name)


def ask_words(name: str) -> str:
    """An ask as it is called: "after three months", "after a year"."""
    if not name.startswith(_YEAR):
        return follow_up_words(name)
    years = name.removeprefix(_YEAR)
    return "after a year" if years == "1" else f"after {years} years"


def _days(first_fitted: date) -> Iterator[tuple[str, date]]:
    """Names and days without end: those of the checks of a build but the first, then each year."""
    yield from ((name, due_on) for name, due_on in due_days(first_fitted) if name != _OF_A_BUILD_ONLY)
    yield from ((f"{_YEAR}{years}", birthday(first_fitted, years)) for years in count(1))


def asks(first_fitted: date, today: date, asked_from: date | None = None, asked_until: date | None = None) -> list[Ask]:
    """The asks of a device first fitted on a day: those that have come, and the next one.

    None is asked that was over before the register knew the device (`asked_from`), nor any that comes after it was
    stopped, replaced, or its case closed (`asked_until`).
    """
    found: list[Ask] = []
    days = _days(first_fitted)
    name, due_on = next(days)
    while not found or found[-1].due_on <= today:
        next_name, next_on = next(days)
        until = counts_from(next_name, next_on) - timedelta(days=1)
        closes_on = min(due_on + OPEN_FOR, next_on - timedelta(days=1))
        found.append(Ask(name, due_on, counts_from(name, due_on), closes_on, until))
        name, due_on = next_name, next_on
    return [
        each
        for each in found
        if (asked_from is None or each.closes_on >= asked_from) and (asked_until is None or each.due_on <= asked_until)
    ]


def ask_on(known: Sequence[Ask], day: date) -> Ask | None:
    """The ask that what is said on a day answers; None on days on which nothing is asked."""
    return next((each for each in reversed(known) if each.counts_from <= day <= each.counts_until), None)


class Outcome(enum.StrEnum):
    """What came of asking."""

    ANSWERED = "answered"
    DECLINED = "declined"
    NOT_REACHED = "not_reached"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


class AskState(enum.StrEnum):
    """Where an ask stands."""

    NOT_YET = "not_yet"
    OPEN = "open"
    ANSWERED = "answered"
    DECLINED = "declined"
    LOST = "lost"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {"not_yet": "not due yet", "open": "to be asked", "lost": "no answer"}.get(self.value, self.value)


def state_of(ask: Ask, outcome: Outcome | None, today: date) -> AskState:
    """Where an ask stands; `outcome` is its answer or that somebody declined, None while there is neither."""
    if outcome in {Outcome.ANSWERED, Outcome.DECLINED}:
        return AskState(outcome.value)
    if today < ask.due_on:
        return AskState.NOT_YET
    return AskState.OPEN if today <= ask.closes_on else AskState.LOST


def one_conversation(ask: Ask, check_due_on: date) -> bool:
    """Whether a check of what is in a device falls so that whoever makes it asks the questions about it as well."""
    return ask.due_on - TOGETHER <= check_due_on <= ask.closes_on


class Way(enum.StrEnum):
    """How somebody was asked."""

    LINK = "link"
    TELEPHONE = "telephone"
    VISIT = "visit"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {"link": "on their own page", "telephone": "by telephone", "visit": "at a visit"}[self.value]


class AnsweredBy(enum.StrEnum):
    """Who answered."""

    RECIPIENT = "recipient"
    GUARDIAN = "guardian"
    BOTH = "both"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {"recipient": "the wearer", "guardian": "a guardian", "both": "both together"}[self.value]


class Pain(enum.StrEnum):
    """How much it hurts."""

    NONE = "none"
    A_LITTLE = "a_little"
    A_LOT = "a_lot"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


class UsedFor(enum.StrEnum):
    """What a device is used for."""

    DRESSING = "dressing"
    EATING = "eating"
    SCHOOL = "school"
    PLAY = "play"
    CYCLING = "cycling"
    CARRYING = "carrying"
    HOBBY = "hobby"
    LOOKS = "looks"
    OTHER = "other"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return _USED_FOR.get(self, self.value)


_USED_FOR = {
    UsedFor.DRESSING: "getting dressed",
    UsedFor.SCHOOL: "school or work",
    UsedFor.PLAY: "play or sport",
    UsedFor.CARRYING: "holding and carrying",
    UsedFor.HOBBY: "music or a hobby",
    UsedFor.LOOKS: "how it looks",
    UsedFor.OTHER: "something else",
}


class Recommend(enum.StrEnum):
    """Whether they would recommend it."""

    YES = "yes"
    PERHAPS = "perhaps"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Said:
    """The answers to the questions; whatever was skipped is None or empty. Hours are hours a day it is worn."""

    used: bool | None
    why_not: StoppedWhy | None
    why_not_words: str
    days_a_week: int | None
    hours_a_day: float | None
    comfort: int | None
    pain: Pain | None
    pain_where: str
    used_for: tuple[UsedFor, ...]
    recommend: Recommend | None
    harm: str
    words: str

    @property
    def is_silent(self) -> bool:
        """Whether every question was skipped."""
        asked = (self.used, self.days_a_week, self.hours_a_day, self.comfort, self.pain, self.recommend, self.why_not)
        return all(each is None for each in asked) and not (
            self.used_for or self.harm or self.words or self.pain_where or self.why_not_words
        )

    @property
    def stopped_by_hurt(self) -> bool:
        """Whether it is not used any more because it hurts."""
        return self.why_not is StoppedWhy.HURTS

    @property
    def harms(self) -> bool:
        """Whether something was said that is never only a figure."""
        return bool(self.harm) or self.pain is Pain.A_LOT or self.stopped_by_hurt


def answers_problem(said: Said, outcome: Outcome) -> tuple[str, str] | None:
    """What cannot be about answers, as (field, what to do), or None."""
    if outcome is not Outcome.ANSWERED:
        if not said.is_silent:
            return "outcome", f"It was {outcome.label}, so leave the answers out; or say that they answered."
        return None
    if said.is_silent:
        return "used", "Record at least one answer; or say that they declined, or were not reached."
    return next((each for each in _contradictions(said)), None)


def _contradictions(said: Said) -> Iterator[tuple[str, str]]:
    worn = bool(said.days_a_week) or bool(said.hours_a_day)
    if said.used is not False and (said.why_not or said.why_not_words):
        yield "why_not", "A reason not to use it needs the answer that it is not used any more."
    if said.why_not is StoppedWhy.OTHER and not said.why_not_words:
        yield "why_not_words", "Say in a few words what the other reason is."
    if said.used is False and worn:
        yield "used", "It cannot be worn and not be used any more. Put one of the two right."
    if said.days_a_week == 0 and said.hours_a_day:
        yield "hours_a_day", "Worn on no day of the week, it cannot be worn for hours a day. Put one of the two right."
    if said.pain_where and said.pain in {None, Pain.NONE}:
        yield "pain", "You say where it hurts: say as well how much."


def day_problem(day: date, known: Sequence[Ask], first_fitted: date | None, today: date) -> str | None:
    """Why nothing can have been answered on a day, or None."""
    if day > today:
        return "This day is still to come. Record it once they have answered."
    if first_fitted is None:
        return "Nothing was fitted in this device yet, so there is nothing to ask about."
    if day < first_fitted:
        return f"It was first fitted on {full_day(first_fitted)}. Give a later day."
    if ask_on(known, day) is not None:
        return None
    if known and day < known[0].counts_from:
        begins = full_day(known[0].counts_from)
        return f"It is too soon: answers count from {begins} on. Before that, record a follow-up check."
    return "Nothing was asked about this device on that day: it was stopped, replaced, or its case was closed."


TAKE_OFF: Final = SKIN[SkinSeen.STAYS_LONG].say
DOCTOR: Final = "If somebody is hurt, see a doctor today, and tell us."
WE_CALL: Final = SKIN[SkinSeen.HURT].then


def advice(said: Said) -> tuple[str, ...]:
    """What whoever answers is told to do, first of all; nothing unless harm or a lot of pain was said.

    The sentences are those of the one table of what is said about the skin; families read them in their language.
    """
    if not said.harms:
        return ()
    return (DOCTOR, WE_CALL) if said.used is False else (TAKE_OFF, DOCTOR, WE_CALL)


def incident_words(said: Said, ask: str) -> str:
    """What an incident says that is opened from answers to an ask."""
    told = [f"Said at the follow-up {ask}."]
    if said.pain is Pain.A_LOT:
        told.append(f"It hurts a lot: {said.pain_where}." if said.pain_where else "It hurts a lot.")
    if said.stopped_by_hurt:
        words = f" ({said.why_not_words})" if said.why_not_words else ""
        told.append(f"It is not used any more, because it hurts, or for the skin{words}.")
    if said.harm:
        told.append(f"“{said.harm}”")
    return " ".join(told)
