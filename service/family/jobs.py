"""A family told how far what it waits for has come, in the background."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.family.actions import tell_making
from service.requests.followups import REQUEST_AGREED


def _agreed(work: Work, payload: dict[str, Any]) -> None:
    tell_making(work, payload["request_id"])


HANDLERS: dict[str, Callable[[Work, dict[str, Any]], None]] = {REQUEST_AGREED: _agreed}
