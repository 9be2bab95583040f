"""What a stored forecast is made from and means, without asking a database."""

from __future__ import annotations

import enum
import json
from collections.abc import Collection
from datetime import date
from hashlib import sha256
from typing import Any

from service.anthropometry.dimensions import Dimension
from service.recipients.rules import Level

_ABOVE_THE_FOREARM = {
    Level.ELBOW,
    Level.UPPER_ARM_LOWER,
    Level.UPPER_ARM_MIDDLE,
    Level.UPPER_ARM_UPPER,
    Level.SHOULDER,
}


def grows_as(dimension: Dimension, ends_at: Level | None) -> Dimension:
    """The dimension whose growth reference fits: the girth of a limb that ends at the elbow or above is an upper arm's.

    The model itself is not told where a limb ends, and takes a residual limb for a forearm.
    """
    if dimension is Dimension.RESIDUAL_LIMB_GIRTH and ends_at in _ABOVE_THE_FOREARM:
        return Dimension.UPPER_ARM_GIRTH
    return dimension


def recorded_as(dimension: Dimension, limited_by: Collection[Dimension]) -> Dimension:
    """The dimension as the register has it, given those a socket is limited by: the way back from `grows_as`."""
    return dimension if dimension in limited_by else Dimension.RESIDUAL_LIMB_GIRTH


def inputs_hash(inputs: dict[str, Any]) -> str:
    """SHA-256 (hex) of what a forecast was made from, written as JSON in one way only."""
    return sha256(json.dumps(inputs, sort_keys=True, separators=(",", ":"), ensure_ascii=True).encode()).hexdigest()


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
