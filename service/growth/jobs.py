"""Forecasts worked out in the background: when a case changes, and once a day because time itself does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.accounts.followups import FORECAST_DAILY
from service.growth.actions import refresh, refresh_everybody
from service.recipients.followups import FORECAST_REFRESH


def _refresh(work: Work, payload: dict[str, Any]) -> None:
    refresh(work, payload["recipient_id"])


def _daily(work: Work, _payload: dict[str, Any]) -> None:
    refresh_everybody(work)


HANDLERS: dict[str, Callable[[Work, dict[str, Any]], None]] = {FORECAST_REFRESH: _refresh, FORECAST_DAILY: _daily}
DAILY: tuple[str, ...] = (FORECAST_DAILY,)
