"""Requests kept in line with forecasts, in the background: after each new forecast, and once a day."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.growth.followups import REQUESTS_REVIEW
from service.requests.actions import review, review_everybody

REVIEW_DAILY = "requests.daily"


def _review(work: Work, payload: dict[str, Any]) -> None:
    review(work, payload["recipient_id"])


def _daily(work: Work, _payload: dict[str, Any]) -> None:
    review_everybody(work)


HANDLERS: dict[str, Callable[[Work, dict[str, Any]], None]] = {REQUESTS_REVIEW: _review, REVIEW_DAILY: _daily}
DAILY: tuple[str, ...] = (REVIEW_DAILY,)
