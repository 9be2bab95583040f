"""What follows from a message written: a job that sends it, asked for in the same transaction."""

from __future__ import annotations

from datetime import datetime

from service.access.work import Work
from service.kit.jobs import enqueue

MESSAGES_SEND = "messages.send"
"""Send one message, or all that wait in somebody's digest; the subject is the message, or nothing."""


def ask_to_send(work: Work, message_id: int, due_at: datetime) -> None:
    """A message waits for its moment."""
    enqueue(
        work.session,
        MESSAGES_SEND,
        now=work.now,
        key=f"{MESSAGES_SEND}:{message_id}",
        subject_id=message_id,
        payload={"message": message_id},
        run_at=due_at,
    )


def ask_for_digest(work: Work, account_id: int, due_at: datetime) -> None:
    """Somebody's digest goes out at its time, with all that was written until then."""
    enqueue(
        work.session,
        MESSAGES_SEND,
        now=work.now,
        key=f"{MESSAGES_SEND}:digest:{account_id}",
        payload={"digest_of": account_id},
        run_at=due_at,
    )
