"""What is true of messages without asking a database."""

from __future__ import annotations

import enum


class Channel(enum.StrEnum):
    """How somebody is reached."""

    MAIL = "mail"
    CALL = "call"
    LETTER = "letter"


class MessageState(enum.StrEnum):
    """Where a message stands."""

    WAITING = "waiting"
    SENT = "sent"
    DONE = "done"
    FAILED = "failed"
    DROPPED = "dropped"
