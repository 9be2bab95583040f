"""Messages sent in the background: each at its moment, or all of a week's digest in one letter."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from service.access.work import Work
from service.notifications.followups import MESSAGES_SEND
from service.notifications.sending import look, record, send
from service.settings import Settings


def errand(settings: Settings, work: Work, payload: dict[str, Any]) -> Callable[[], Any] | None:
    """What has to be done outside, between two transactions; None when nothing waits any more."""
    waiting = look(work, payload)
    return (lambda: send(settings, waiting, work.now)) if waiting else None


ERRANDS = {MESSAGES_SEND: (errand, record)}
