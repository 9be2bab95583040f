"""Offers that lapse when their time is over, and those for what is not needed any more, once a day."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.matching.actions import lapse, release, tidy
from service.matching.offering import LAPSE, TIDY
from service.requests.followups import REQUEST_SETTLED


def _lapse(work: Work, payload: dict[str, Any]) -> None:
    lapse(work, payload["offer_id"])


def _release(work: Work, payload: dict[str, Any]) -> None:
    release(work, payload["request_id"])


def _tidy(work: Work, _payload: dict[str, Any]) -> None:
    tidy(work)


HANDLERS: dict[str, Callable[[Work, dict[str, Any]], None]] = {
    LAPSE: _lapse,
    TIDY: _tidy,
    REQUEST_SETTLED: _release,
}
DAILY: tuple[str, ...] = (TIDY,)
