"""What need not be told any more, because what it was about was said meanwhile."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.work import Work
from service.notifications.families import FamilyMessage
from service.notifications.rules import MessageState
from service.notifications.tables import MessageRow

MEANWHILE = "They said it meanwhile."


def drop_waiting(work: Work, *messages: FamilyMessage, about: object) -> None:
    """Drop what waits to be told of some kinds about something. Part of another act, which was permitted."""
    keys = [f"{message.value}:{about}" for message in messages]
    waiting = sa.update(MessageRow).where(MessageRow.key.in_(keys), MessageRow.state == MessageState.WAITING)
    work.session.execute(
        waiting.values(state=MessageState.DROPPED, settled_at=work.now, problem=MEANWHILE),
        execution_options={"synchronize_session": False},
    )
