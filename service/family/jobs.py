"""A family told how far what it waits for has come, and asked how it goes, in the background."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.family.actions import ask_how_it_goes, tell_making
from service.requests.followups import REQUEST_AGREED

ASK_DAILY = "family.how_it_goes"


def _agreed(work: Work, payload: dict[str, Any]) -> None:
    tell_making(work, payload["request_id"])


def _ask(work: Work, _payload: dict[str, Any]) -> None:
    ask_how_it_goes(work)


HANDLERS: dict[str, Callable[[Work, dict[str, Any]], None]] = {REQUEST_AGREED: _agreed, ASK_DAILY: _ask}
DAILY: tuple[str, ...] = (ASK_DAILY,)
