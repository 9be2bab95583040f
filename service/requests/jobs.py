"""Requests kept in line with forecasts, in the background: after each new forecast, and once a day."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.growth.followups import REQUESTS_REVIEW
from service.kit.files import Files
from service.requests.actions import learn_leads, review, review_everybody
from service.requests.photographs import FORGET, is_shown
from service.settings import Settings

REVIEW_DAILY = "requests.daily"
LEADS_DAILY = "requests.leads"


def _review(work: Work, payload: dict[str, Any]) -> None:
    review(work, payload["recipient_id"])


def _daily(work: Work, _payload: dict[str, Any]) -> None:
    review_everybody(work)


def _leads(work: Work, _payload: dict[str, Any]) -> None:
    learn_leads(work)


def _forget(settings: Settings, work: Work, payload: dict[str, Any]) -> Callable[[], Any] | None:
    """Remove a photograph's file from the store, unless a request still shows it."""
    name = payload["sha256"]
    return None if is_shown(work, name) else lambda: Files(settings.files).remove(name)


def _forgotten(_work: Work, _payload: dict[str, Any], _outcome: Any) -> None:
    """Nothing is left to write down: the audit has it that the photograph was removed."""


ERRANDS = {FORGET: (_forget, _forgotten)}
HANDLERS: dict[str, Callable[[Work, dict[str, Any]], None]] = {
    REQUESTS_REVIEW: _review,
    REVIEW_DAILY: _daily,
    LEADS_DAILY: _leads,
}
BEFORE_FORECASTS: tuple[str, ...] = (LEADS_DAILY,)
"""Daily work done before the day's forecasts, so that they are worked out once, with what it finds."""

DAILY: tuple[str, ...] = (REVIEW_DAILY,)
