"""What waits to be sent becomes a letter, and what became of the letter is written down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.notifications.families import is_needed
from service.notifications.followups import ask_for_digest, ask_to_send
from service.notifications.links import Reader, mailbox, unsubscribe_path
from service.notifications.posting import Letter, Outcome, Posted, post
from service.notifications.rules import (
    NO_WAY_WAIT,
    Channel,
    MessageState,
    next_try,
    with_addresses,
    without_secrets,
)
from service.notifications.tables import MessageRow
from service.settings import Settings
from service.web.render import environment
from service.words.catalogue import words


@dataclass(frozen=True)
class Waiting:
    """A message whose moment has come; `reader` is set where who gets it may stop such mail."""

    id: int
    key: str
    reader: Reader | None
    to: str
    subject: str
    body: str
    language: str


@dataclass(frozen=True)
class Sent:
    """Which messages went as one letter, and what became of it."""

    ids: tuple[int, ...]
    posted: Posted


def look(work: Work, payload: dict[str, Any]) -> list[Waiting]:
    """The messages a job is to send, those of one person; none if they were dropped, sent or told otherwise."""
    due = [MessageRow.state == MessageState.WAITING, MessageRow.channel == Channel.MAIL]
    if "digest_of" in payload:
        due += [MessageRow.account_id == payload["digest_of"], ~MessageRow.urgent, MessageRow.due_at <= work.now]
    else:
        due += [MessageRow.id == payload["message"]]
    rows = work.session.scalars(sa.select(MessageRow).where(*due).order_by(MessageRow.id))
    return [Waiting(row.id, row.key, _reader(row), row.to_address, row.subject, row.body, row.language) for row in rows]


def send(settings: Settings, waiting: Sequence[Waiting], written_at: datetime) -> Sent:
    """Send them as one letter. No transaction is open meanwhile: a slow server holds up nobody."""
    first = waiting[0]
    unsubscribe = ""
    if first.reader is not None:
        unsubscribe = settings.base_url.rstrip("/") + unsubscribe_path(settings.secret(), first.reader)
        if first.reader.account_id is None:
            unsubscribe += f"?lang={first.language}"
    letter = Letter(
        id=sha256("\n".join(each.key for each in waiting).encode()).hexdigest()[:40],
        to=first.to,
        subject=first.subject if len(waiting) == 1 else f"{len(waiting)} messages from {settings.charity_name}",
        text=_text(settings, waiting, unsubscribe),
        written_at=written_at,
        language=first.language,
        unsubscribe=unsubscribe,
    )
    return Sent(tuple(each.id for each in waiting), post(settings, letter))


def record(work: Work, payload: dict[str, Any], sent: Sent | None) -> None:
    """Write down what became of them; what did not get through is tried again later, or left for a person.

    What was dropped while the letter was on its way stays dropped.
    """
    if sent is None:  # nothing waits any more, or nothing could be done outside yet
        sent = Sent(tuple(each.id for each in look(work, payload)), Posted(Outcome.NO_WAY))
    rows = work.session.scalars(
        sa.select(MessageRow).where(MessageRow.id.in_(sent.ids), MessageRow.state == MessageState.WAITING)
    ).all()
    again = None
    for row in rows:
        row.problem = sent.posted.problem
        if sent.posted.outcome is Outcome.TAKEN:
            row.state, row.settled_at, row.body = MessageState.SENT, work.now, without_secrets(row.body)
        elif sent.posted.outcome is Outcome.NO_WAY:
            again = work.now + NO_WAY_WAIT
        else:
            row.tries += 1
            tried = next_try(row.tries, work.now) if sent.posted.outcome is Outcome.NOT_NOW else None
            again = tried or again
            if tried is None:
                row.state, row.settled_at = MessageState.FAILED, work.now
    if again is not None and "digest_of" in payload:
        ask_for_digest(work, payload["digest_of"], again)
    elif again is not None:
        ask_to_send(work, payload["message"], again)


def _reader(row: MessageRow) -> Reader | None:
    """Whoever may stop such mail: an account any, since it says so in its wishes; others what they can do without."""
    if row.account_id is not None:
        return Reader(account_id=row.account_id)
    return None if row.urgent or is_needed(row.key) else Reader(mailbox=mailbox(row.to_address))


def _text(settings: Settings, waiting: Sequence[Waiting], unsubscribe: str) -> str:
    plain = environment().overlay(autoescape=False)
    parts = [{"subject": each.subject, "body": with_addresses(each.body, settings.base_url)} for each in waiting]
    context = {
        "_": words(waiting[0].language),
        "parts": parts,
        "charity_name": settings.charity_name,
        "charity_phone": settings.charity_phone,
        "unsubscribe": unsubscribe,
        "has_account": waiting[0].reader is not None and waiting[0].reader.account_id is not None,
    }
    return plain.get_template("_mail/message.txt").render(context).strip() + "\n"
