"""Forecasts of the register's own sockets, and the bodies of the stateless question asked over HTTP."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import Field

from service.growth.lead import Lead
from service.growth.rules import ForecastState
from service.growth.schemas import CurvePointOut, Due, ForecastAnswer, ForecastCase, Limiting, SockSizeOut
from service.growth.start_dates import LeadView
from service.kit.schema import Command, View
from service.recipients.rules import Side


class AskForecasts(Command):
    """Up to 1,000 cases to forecast."""

    cases: Annotated[list[ForecastCase], Field(min_length=1, max_length=1000)]


class ForecastAnswers(View):
    """The answers, in the order of the cases."""

    items: list[ForecastAnswer]


class SocketCase(View):
    """A socket in place as the model is asked about it.

    `lead` is how long the site needs to make and deliver a socket, `tight_risk` the chance it accepts of a tight one
    before that; `left_out` says what is known and is not in the case.
    """

    device: int
    socket: int
    lead: Lead
    tight_risk: float
    left_out: list[str]
    case: ForecastCase

    @property
    def lead_days(self) -> int:
        """The days within which half of the sockets are made and delivered."""
        return self.lead.days


class LimbCase(View):
    """A limb without a socket in place as the model is asked about it; the rest as of a SocketCase."""

    lead_days: int
    left_out: list[str]
    case: ForecastCase


class PastCase(View):
    """A socket that came off as it stood `horizon_days` before it did: a case whose answer is known."""

    recipient: int
    device: int
    socket: int
    horizon_days: int
    ended_on: date
    outgrown: bool
    left_out: list[str]
    case: ForecastCase


class StoredForecast(View):
    """The newest forecast of a socket in place, as in the stateless answer.

    `state` says whether it may be relied on. While the first one is being worked out, `due` and all that follows from
    it are null: that is not the same as "not within three years", which is a `due` whose dates are null. They are null
    too when no forecast can be made of what is recorded: `explanation` and `warnings` then say why. `start_by`
    is the day by which making must start; one in the past means now. `measure_by` is the day on which another reading
    would help that decision most, null if none would help much; `start_why` and `measure_why` say both in sentences.
    `lead` is the lead time reckoned with, and `lead_why` where it is from.
    """

    device: int
    socket: int
    purpose: str
    side: Side
    state: ForecastState
    as_of: date | None = None
    due: Due | None = None
    start_by: date | None = None
    measure_by: date | None = None
    start_why: str | None = None
    measure_why: str | None = None
    lead: LeadView | None = None
    lead_why: str | None = None
    already: float | None = None
    within: dict[str, float] | None = None
    limiting: Limiting | None = None
    curve: tuple[CurvePointOut, ...] = ()
    from_socks: tuple[SockSizeOut, ...] = ()
    warnings: tuple[str, ...] = ()
    explanation: str | None = None
    model: str | None = None
    computed_at: datetime | None = None
