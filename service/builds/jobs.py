"""Builds opened when a volunteer agreed, and dropped when nobody needs them; in the background, once each."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.builds.actions import drop_unneeded, open_for_offer
from service.matching.followups import OFFER_ACCEPTED, OFFER_WITHDRAWN


def _open(work: Work, payload: dict[str, Any]) -> None:
    open_for_offer(work, payload["offer_id"])


def _drop(work: Work, payload: dict[str, Any]) -> None:
    drop_unneeded(work, payload["request_id"])


HANDLERS: dict[str, Callable[[Work, dict[str, Any]], None]] = {OFFER_ACCEPTED: _open, OFFER_WITHDRAWN: _drop}
DAILY: tuple[str, ...] = ()
