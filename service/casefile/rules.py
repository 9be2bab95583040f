"""What belongs on the work list, and why, in sentences; no I/O, today is passed in."""

from __future__ import annotations

import enum
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from service.growth.rules import ForecastState
from service.kit.chances import PROBABLY, likely
from service.kit.clock import age_on
from service.kit.days import full_day
from service.recipients.rules import REVIEW_AGES, CaseState, birthday

MEASURE_CHILD_EVERY = timedelta(days=182)
"""Common practice: a growing limb is measured about twice a year."""

MEASURE_ADULT_EVERY = timedelta(days=365)
"""Common practice: a grown limb is measured about once a year."""

REVIEW_AHEAD = timedelta(days=90)
"""Common practice: a review at 16 or 18 is prepared for about three months."""

REVIEW_BEHIND = timedelta(days=365)
"""A review is asked of somebody who had the birthday up to a year before the case was opened, not of older people."""


class Kind(enum.StrEnum):
    """What an entry of the work list is about."""

    SOCKET_DUE = "socket_due"
    MEASUREMENT_OVERDUE = "measurement_overdue"
    MISSING = "missing"
    REVIEW = "review"


def latest_birth(age: int, day: date) -> date:
    """The latest birth date of those who have reached an age on a day."""
    try:
        return day.replace(year=day.year - age)
    except ValueError:  # 29 February in a year without one: those born on 1 March have not had their birthday
        return date(day.year - age, 2, 28)


def measure_every(birth_date: date, today: date) -> timedelta:
    """How long a measurement counts as recent: half a year under 18, a year after."""
    return MEASURE_CHILD_EVERY if age_on(birth_date, today) < REVIEW_AGES[-1] else MEASURE_ADULT_EVERY


def review_age(birth_date: date, today: date) -> int:
    """Which review is next or was last: the one at 18 takes over as soon as it comes near."""
    near = latest_birth(REVIEW_AGES[-1], today + REVIEW_AHEAD)
    return REVIEW_AGES[-1] if birth_date <= near else REVIEW_AGES[0]


def why_socket(
    *,
    state: ForecastState,
    already: float | None,
    start_why: str | None,
) -> str:
    """Why a socket is on the list; `start_why` is what its forecast says of when to start the next."""
    if state is ForecastState.FAILED:
        return "The forecast could not be worked out: go by the last measurement, and tell an administrator."
    if already is None:
        return "The forecast is being worked out."
    if already >= PROBABLY:
        return f"The socket is {likely(already)} tight already: ask, and measure."
    return start_why or "The forecast is of an earlier release; a new one is worked out within a day."


def why_reported(on: date) -> str:
    """Why a socket is on the list that somebody said is tight."""
    return f"The socket was reported tight on {full_day(on)}: ask today, and measure."


def why_read(on: date, place: str, size_mm: float, tight_at_mm: float) -> str:
    """Why a socket is on the list of which a reading is at the limit, or over it."""
    return (
        f"The {place} was {size_mm:.1f} mm on {full_day(on)}, and the socket is tight there at {tight_at_mm:.1f} mm: "
        "ask today how it fits."
    )


def why_measure(last: date | None, birth_date: date, today: date) -> str:
    """Why somebody should be measured."""
    if last is None:
        return "No measurement is recorded yet."
    often = "every half year while growing" if measure_every(birth_date, today) == MEASURE_CHILD_EVERY else "every year"
    return f"The last measurement was on {full_day(last)}; it is common practice to measure {often}."


def why_missing(lacking: Sequence[str]) -> str:
    """What a case still lacks."""
    *most, last = lacking
    return f"Still needed before a device is made: {', '.join(most)}{' and ' if most else ''}{last}."


def why_review(age: int, turned_on: date, today: date) -> str:
    """Why a review is due."""
    turns = "turned" if turned_on <= today else "turns"
    return f"The recipient {turns} {age} on {full_day(turned_on)}: talk about what is now theirs to decide."


class Step(enum.StrEnum):
    """What to do next for a case, one thing at a time."""

    NOTHING = "nothing"
    ASK_TODAY = "ask_today"
    ASK_AND_MEASURE = "ask_and_measure"
    START_SOCKET = "start_socket"
    MEASURE_FIRST = "measure_first"
    MEASURE_AGAIN = "measure_again"
    RECORD_DEVICE = "record_device"
    RECORD_SOCKET = "record_socket"
    COMPLETE_CASE = "complete_case"
    HOLD_REVIEW = "hold_review"
    LOOK_AT_FORECAST = "look_at_forecast"
    WAIT = "wait"


@dataclass(frozen=True)
class Standing:
    """What decides the next step of a case; `already` and `start_by` are those of the most pressing forecast.

    `tight` says that a socket was reported or measured tight, and nothing since says otherwise.
    """

    state: CaseState
    device_in_use: bool
    socket_in_place: bool
    measure_by: date | None
    tight: bool
    already: float
    start_by: date | None
    forecast_failed: bool
    lacking: bool
    review_due: bool


def next_step(at: Standing, today: date) -> Step:
    """The first of these that is so: what can hurt, even while a case is paused, then what is late, then missing."""
    paused = at.state not in {CaseState.ENQUIRY, CaseState.ACTIVE}
    reached = [
        (at.state is CaseState.CLOSED, Step.NOTHING),
        (at.tight, Step.ASK_TODAY),
        (at.already >= PROBABLY, Step.ASK_AND_MEASURE),
        (paused, Step.NOTHING),
        (at.start_by is not None and at.start_by <= today, Step.START_SOCKET),
        (at.measure_by is None, Step.MEASURE_FIRST),
        (at.measure_by is not None and at.measure_by < today, Step.MEASURE_AGAIN),
        (at.forecast_failed, Step.LOOK_AT_FORECAST),
        (at.lacking, Step.COMPLETE_CASE),
        (not at.device_in_use, Step.RECORD_DEVICE),
        (not at.socket_in_place, Step.RECORD_SOCKET),
        (at.review_due, Step.HOLD_REVIEW),
    ]
    return next((step for is_so, step in reached if is_so), Step.WAIT)


def review_due(birth_date: date, held: Collection[int], opened_on: date, today: date) -> bool:
    """Whether the review at 16 or 18 is near, or was due while the case was open or the year before, and not held."""
    age = review_age(birth_date, today)
    on = birthday(birth_date, age)
    return on - REVIEW_AHEAD <= today and on >= opened_on - REVIEW_BEHIND and age not in held
