"""What is true of incidents and of the skin without asking a database: `SKIN` is the one table of what is said.

Its limits are settings; `SOURCE` says where they come from. A clinician's plan for a person goes before them. The words
of `SKIN` and `SIGNS` are read by families: short and plain; `{minutes}` and `{day}` are filled in.
"""

from __future__ import annotations

import enum
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final


class IncidentKind(enum.StrEnum):
    """What happened."""

    HARM = "harm"
    NEAR_HARM = "near_harm"
    MALFUNCTION = "malfunction"
    SKIN = "skin"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return _KINDS[self]


_KINDS = {
    IncidentKind.HARM: "somebody was hurt",
    IncidentKind.NEAR_HARM: "somebody could have been hurt",
    IncidentKind.MALFUNCTION: "it did not work as it should",
    IncidentKind.SKIN: "something on the skin",
}


class SkinSeen(enum.StrEnum):
    """What is seen after taking a device off, from least to worst."""

    GONE = "gone"
    STAYS = "stays"
    STAYS_LONG = "stays_long"
    HURT = "hurt"


FADES_MINUTES: Final = 20
"""Redness gone within so many minutes is as it should be, where the settings say nothing else (common practice)."""


@dataclass(frozen=True, slots=True)
class SkinLimits:
    """When what is seen on the skin becomes more serious; as common practice has it unless settings say otherwise.

    Redness gone within `fades_minutes` of taking the device off is as it should be; still there after `long_minutes`,
    the device stays off. A look that is not for the same day is within `review_days` working days.
    """

    fades_minutes: int = FADES_MINUTES
    long_minutes: int = 30
    review_days: int = 2


SOURCE: Final = (
    "Common practice, after leaflets of upper-limb clinics and hospitals for children; not from a study or a standard."
)
"""Where the limits come from, for a screen."""


class Sign(enum.StrEnum):
    """One thing that may be seen or felt where a device was."""

    RED_GONE = "red_gone"
    RED_STAYS = "red_stays"
    RED_LONG = "red_long"
    WARM = "warm"
    FIRM = "firm"
    SORE = "sore"
    HURTS_AT_REST = "hurts_at_rest"
    BLISTER = "blister"
    BROKEN = "broken"
    BRUISE = "bruise"
    NUMB = "numb"
    SWELLING = "swelling"
    COLOUR = "colour"
    FEVER = "fever"


SIGNS: Final[Mapping[Sign, tuple[SkinSeen, str]]] = MappingProxyType(
    {
        Sign.BLISTER: (SkinSeen.HURT, "There is a blister."),
        Sign.BROKEN: (SkinSeen.HURT, "The skin is cut or open."),
        Sign.BRUISE: (SkinSeen.HURT, "There is a bruise."),
        Sign.NUMB: (SkinSeen.HURT, "It feels numb."),
        Sign.SWELLING: (SkinSeen.HURT, "It is swollen."),
        Sign.COLOUR: (SkinSeen.HURT, "The skin has a strange colour."),
        Sign.FEVER: (SkinSeen.HURT, "There is a fever."),
        Sign.HURTS_AT_REST: (SkinSeen.STAYS_LONG, "It hurts with the device off."),
        Sign.RED_LONG: (SkinSeen.STAYS_LONG, "It is still red {minutes} minutes after taking it off."),
        Sign.RED_STAYS: (SkinSeen.STAYS, "It is still red {minutes} minutes after taking it off."),
        Sign.WARM: (SkinSeen.STAYS, "The skin feels warm."),
        Sign.FIRM: (SkinSeen.STAYS, "The skin feels hard."),
        Sign.SORE: (SkinSeen.STAYS, "It is sore to touch."),
        Sign.RED_GONE: (SkinSeen.GONE, "It was red, and the red went away in {minutes} minutes."),
    }
)
"""What each sign amounts to, and how a family says it; the worst comes first."""


def minutes_of(sign: Sign, limits: SkinLimits) -> int:
    """The minutes that the words of a sign speak of, where they do."""
    return limits.long_minutes if sign is Sign.RED_LONG else limits.fades_minutes


def in_words(signs: Collection[Sign], limits: SkinLimits) -> str:
    """What was seen, in English, the worst first."""
    return " ".join(SIGNS[sign][1].format(minutes=minutes_of(sign, limits)) for sign in SIGNS if sign in signs)


MAY_NOT_SHOW: Final = "On dark skin, red may not show. Feel the skin too: is it warm, hard or sore?"
PLAN_FIRST: Final = "If your doctor told you something else, do what your doctor said."


class Look(enum.Enum):
    """By when somebody looks at it: the same day, or within the working days of the limits."""

    TODAY = "today"
    SOON = "soon"


@dataclass(frozen=True, slots=True)
class Advice:
    """What is said to whoever wears the device, and what follows; `then` says it to a family.

    `look` is None when nobody need look.
    """

    say: str
    then: str
    look: Look | None = None
    opens_incident: bool = False
    urgent: bool = False


SKIN: Final[Mapping[SkinSeen, Advice]] = MappingProxyType(
    {
        SkinSeen.GONE: Advice("This is fine. You can go on wearing it.", "We wrote it down. There is nothing to do."),
        SkinSeen.STAYS: Advice(
            "Wear it less today. Look at the skin again tomorrow.",
            "We will look at this with you by {day}.",
            look=Look.SOON,
        ),
        SkinSeen.STAYS_LONG: Advice(
            "Take it off. Leave it off until one of us has looked at it.",
            "We will look at this today.",
            look=Look.TODAY,
            urgent=True,
        ),
        SkinSeen.HURT: Advice(
            "Stop wearing it. See a doctor today.",
            "We have told our team. One of us will call you.",
            opens_incident=True,
            urgent=True,
        ),
    }
)
"""The one table of what is said about the skin."""


def worst(signs: Iterable[Sign]) -> SkinSeen:
    """What several signs amount to: the worst of them. There must be one."""
    order = list(SkinSeen)
    return max((SIGNS[sign][0] for sign in signs), key=order.index)


class Clock(enum.StrEnum):
    """Why something serious has to be reported, by the day counted from when the charity became aware."""

    PUBLIC_THREAT = "public_threat"
    DEATH_OR_DETERIORATION = "death_or_deterioration"
    OTHER_SERIOUS = "other_serious"

    @property
    def days(self) -> int:
        """Calendar days: SI 2024/1368 for Great Britain and EU MDR Article 87; orientation, not advice."""
        return _DAYS[self]

    @property
    def label(self) -> str:
        """The words on a screen."""
        return _CLOCKS[self]


_DAYS = {Clock.PUBLIC_THREAT: 2, Clock.DEATH_OR_DETERIORATION: 10, Clock.OTHER_SERIOUS: 15}
_CLOCKS = {
    Clock.PUBLIC_THREAT: "a serious threat to public health",
    Clock.DEATH_OR_DETERIORATION: "a death, or health that got much worse unexpectedly",
    Clock.OTHER_SERIOUS: "serious in another way",
}


def report_by(clock: Clock, aware_on: date) -> date:
    """The last day to report something serious, counted from the day the charity became aware."""
    return aware_on + timedelta(days=clock.days)


_SATURDAY = 5


def working_days_after(day: date, count: int) -> date:
    """The day so many working days later, Monday to Friday; holidays differ by place and are not known here."""
    while count > 0:
        day += timedelta(days=1)
        count -= day.weekday() < _SATURDAY
    return day


def look_by(look: Look | None, today: date, limits: SkinLimits) -> date | None:
    """The last day to look at what was reported today; None when nobody need look."""
    if look is None:
        return None
    return working_days_after(today, limits.review_days if look is Look.SOON else 0)


def what_follows(advice: Advice, limits: SkinLimits) -> str:
    """What the charity does after an advice, for those who do it."""
    if advice.opens_incident:
        return "An incident is opened, and somebody judges it by name."
    if advice.look is None:
        return "It is recorded."
    when = "the same day" if advice.look is Look.TODAY else f"within {limits.review_days} working days"
    return f"Somebody looks at it {when}."


def aware_problem(aware_on: date, today: date) -> str | None:
    """Why the charity cannot have become aware on a day; None if it can."""
    if aware_on > today:
        return "This day is still to come. Give the day on which somebody of the charity first heard of it."
    return None


def judgement_problem(clock: Clock | None, *, serious: bool) -> str | None:
    """Why a judgement does not say enough, or too much; None if it is whole."""
    if serious and clock is None:
        return "Say in which way it is serious: the day to report it by follows from that."
    if not serious and clock is not None:
        return "What is not serious has no day to report it by. Leave that empty, or judge it serious."
    return None


def closing_problem(
    reported_on: date | None, not_reported_why: str, *, serious: bool, aware_on: date, today: date
) -> tuple[str, str] | None:
    """Why an incident cannot be closed so: the field and what to do; None if it can."""
    if reported_on is not None and not_reported_why:
        return "reported_on", "Give the day it was reported, or say why it was not reported: not both."
    if serious and reported_on is None and not not_reported_why:
        return "reported_on", "This is serious: give the day it was reported, or say below why it was not."
    if reported_on is not None and reported_on > today:
        return "reported_on", "This day is still to come. Close it once it is reported."
    if reported_on is not None and reported_on < aware_on:
        return "reported_on", f"The charity knew only from {aware_on.isoformat()}. Give that day or a later one."
    return None
