"""A request repeated with the same `Idempotency-Key` is answered the same and done once.

The answer is kept in the transaction of the act, so there is never one without the other.
"""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, Session, mapped_column

from service.access.actor import Actor
from service.access.work import Work
from service.kit.db import Base, insert_unless_there
from service.kit.errors import Invalid

LONGEST_KEY = 200


class AnswerRow(Base):
    """What a keyed request was answered."""

    __tablename__ = "idempotent_answers"

    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    fingerprint: Mapped[str]
    answer: Mapped[Any] = mapped_column(sa.JSON)
    answered_at: Mapped[datetime]


def earlier_answer(work: Work, key: str, fingerprint: str) -> Any | None:
    """The answer given to this key before, or None when this call is the first and now holds the key.

    Raises Invalid when the key was used for a different request, or by the same person with other roles or sites:
    what somebody may no longer see is not answered again.
    """
    fingerprint = _as_whom(work.actor, fingerprint)
    if not 1 <= len(key) <= LONGEST_KEY:
        raise Invalid.at("Idempotency-Key", f"Use a key of 1 to {LONGEST_KEY} characters, such as a UUID.")
    mine = {"account_id": work.actor.account_id, "key": key}
    fresh = {**mine, "fingerprint": fingerprint, "answer": None, "answered_at": work.now}
    if insert_unless_there(work.session, AnswerRow, fresh):
        return None
    row = work.session.get_one(AnswerRow, (work.actor.account_id, key))
    if row.fingerprint != fingerprint:
        raise Invalid.at("Idempotency-Key", "This key was used for another request. Use a new key for a new request.")
    return row.answer


def forget_answers(session: Session, before: datetime) -> None:
    """Clear away answers given before a moment: they hold what was asked for, and nobody repeats it so late."""
    session.execute(sa.delete(AnswerRow).where(AnswerRow.answered_at < before))


def _as_whom(actor: Actor, fingerprint: str) -> str:
    standing = f"{fingerprint} {sorted(actor.roles)} {sorted(actor.sites)}"
    return sha256(standing.encode()).hexdigest()


def keep_answer(work: Work, key: str, answer: Any) -> None:
    """Keep what was answered, in the same transaction."""
    work.session.get_one(AnswerRow, (work.actor.account_id, key)).answer = answer
