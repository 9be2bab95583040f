"""What a stored forecast is made from and means, without asking a database."""

from __future__ import annotations

import enum
import json
from datetime import date
from hashlib import sha256
from typing import Any

from service.growth.lead import ENOUGH, Lead
from service.growth.model.case import Limb
from service.kit.days import full_day
from service.recipients.rules import Level


def limb_of(ends_at: Level | None) -> Limb:
    """The part of the arm that a residual limb is, given where it ends."""
    return "upper_arm" if ends_at is not None and ends_at.is_above_forearm else "forearm"


def why_no_forecast(fitted_on: date, birth_date: date) -> str | None:
    """Why no forecast can be made of a socket, as when a birth date was corrected later; None when one can."""
    if fitted_on >= birth_date:
        return None
    return (
        f"The socket is recorded as fitted on {full_day(fitted_on)}, before the birth date, {full_day(birth_date)}: "
        "no forecast can be made until one of them is put right."
    )


def inputs_hash(inputs: dict[str, Any]) -> str:
    """SHA-256 (hex) of what a forecast was made from, written as JSON in one way only."""
    return sha256(json.dumps(inputs, sort_keys=True, separators=(",", ":"), ensure_ascii=True).encode()).hexdigest()


def lead_why(lead: Lead) -> str:
    """Where the lead time that a forecast reckons with is from, in a sentence."""
    if lead.learned_from:
        return (
            f"How long making takes is learned from {lead.learned_from} requests for a socket at this site, those that "
            "are still waited for among them."
        )
    return (
        f"How long making takes is as it is set for this site; once {ENOUGH} sockets asked for here have been handed "
        "over, it is learned from them."
    )


class ForecastState(enum.StrEnum):
    """Whether a stored forecast may be relied on."""

    CURRENT = "current"
    BEING_WORKED_OUT = "being worked out"
    FAILED = "failed"


def state_of(*, as_of: date | None, today: date, closed: bool, waiting: bool, failed: bool) -> ForecastState:
    """How a forecast stands.

    `as_of` is None when there is none yet; `waiting` says that a job will replace it, `failed` that one was given up.
    Nobody forecasts for a closed case any more, so there an old forecast is not late.
    """
    if failed and not waiting:
        return ForecastState.FAILED
    late = as_of is None or (as_of < today and not closed)
    return ForecastState.BEING_WORKED_OUT if waiting or late else ForecastState.CURRENT
