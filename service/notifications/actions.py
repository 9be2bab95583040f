"""Telling people things, and what becomes of it. `tell` is the one way to do it, for every room above."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import AccountRow, AccountSiteRow
from service.audit.actions import note
from service.kit.db import insert_unless_there
from service.kit.errors import Conflict, Invalid
from service.notifications.families import FamilyMessage, for_a_caller, is_needed, written
from service.notifications.followups import ask_for_digest, ask_to_send
from service.notifications.links import Reader, mailbox
from service.notifications.queries import message, wishes
from service.notifications.rules import (
    Channel,
    MessageState,
    after_quiet,
    channel_for,
    next_digest,
    settle_problem,
    without_secrets,
)
from service.notifications.schemas import DropMessage, KeepWishes, MessageView, Reachable, SettleMessage, WishesView
from service.notifications.tables import MessageRow, QuietRow, StoppedRow
from service.recipients.tables import RecipientRow
from service.words.catalogue import ENGLISH, preferred

NO_MAIL_WANTED = "They asked for no messages by mail."


def tell(
    work: Work,
    *,
    key: str,
    to: Reachable,
    subject: str,
    body: str,
    urgent: bool = False,
    recipient_id: int | None = None,
    site_id: int | None = None,
    language: str = ENGLISH,
) -> bool:
    """Tell somebody something, in the caller's transaction; False when the same `key` was told before.

    Part of another act, which was permitted. A line of the body that is only a path (`/offers/…`) goes out as a whole
    address. Whoever has no mail gets a call or a letter to be made, whose task stands on the messages page of the
    site: `site_id`, else that of the recipient it is about, else the first of the person's own. Neither subject nor
    body may hold a diagnosis, a limb, a family name or an address. `language` is the one they are written in.
    """
    account_id = getattr(to, "account_id", None)
    channel, address = channel_for(to.reach_by, email=to.email, phone=to.phone, address=to.address)
    row: dict[str, Any] = {
        "key": key,
        "site_id": site_id or _site_of(work, recipient_id, account_id),
        "recipient_id": recipient_id,
        "account_id": account_id,
        "channel": channel,
        "to_name": to.name,
        "to_address": address,
        "language": language,
        "subject": " ".join(subject.split()),
        "body": body.strip(),
        "urgent": urgent,
        "state": MessageState.WAITING,
        "due_at": work.now,
        "written_at": work.now,
        "tries": 0,
        "problem": "",
    }
    digest = False
    if channel is Channel.MAIL and not urgent:
        needed, wanted = is_needed(key), wishes(work, account_id, address)
        digest = wanted.wants_mail and wanted.digest_day is not None and not needed
        if not wanted.wants_mail and not needed:
            row |= {"state": MessageState.DROPPED, "settled_at": work.now, "problem": NO_MAIL_WANTED}
        elif wanted.digest_day is not None and not needed:
            row["due_at"] = next_digest(work.now, wanted.digest_day)
        else:
            row["due_at"] = after_quiet(work.now, wanted.quiet_from, wanted.quiet_until)
    if not insert_unless_there(work.session, MessageRow, row):
        return False
    if channel is Channel.MAIL and row["state"] is MessageState.WAITING:
        if digest and account_id is not None:
            ask_for_digest(work, account_id, row["due_at"])
        else:
            message_id = work.session.scalars(sa.select(MessageRow.id).where(MessageRow.key == key)).one()
            ask_to_send(work, message_id, row["due_at"])
    return True


def tell_family(
    work: Work,
    message: FamilyMessage,
    about: object,
    *,
    to: Reachable,
    recipient_id: int,
    path: str = "",
    urgent: bool = False,
    **filled: object,
) -> bool:
    """Tell a contact of a recipient something in the family's language, or in English where there is no file for it.

    As `tell`, which it ends in; `about` is what makes its key the only one. Who makes a call reads English too.
    """
    spoken = work.session.scalar(sa.select(RecipientRow.language).where(RecipientRow.id == recipient_id))
    code = preferred(spoken)
    channel, _ = channel_for(to.reach_by, email=to.email, phone=to.phone, address=to.address)
    say = for_a_caller if channel is Channel.CALL else written
    subject, body = say(message, code, path, filled)
    return tell(
        work,
        key=f"{message.value}:{about}",
        to=to,
        subject=subject,
        body=body,
        urgent=urgent,
        recipient_id=recipient_id,
        language=code,
    )


@usecase(May.SEE_MESSAGES)
def settle_message(work: Work, message_id: int, command: SettleMessage) -> MessageView:
    """Record that a call was made, a letter posted, or somebody told otherwise whom mail did not reach.

    Raises Conflict when there is nothing to do about it any more.
    """
    row = _own(work, message_id)
    if (problem := settle_problem(row.state, row.channel)) is not None:
        raise Conflict(problem)
    return _settled(work, row, MessageState.DONE, command.note)


@usecase(May.SEE_MESSAGES)
def drop_message(work: Work, message_id: int, command: DropMessage) -> MessageView:
    """Record that somebody need not be told any more; raises Conflict for what was told."""
    row = _own(work, message_id)
    if row.state not in {MessageState.WAITING, MessageState.FAILED}:
        raise Conflict(f"This is {row.state.label} already, so it cannot be dropped.")
    return _settled(work, row, MessageState.DROPPED, command.why)


@usecase(May.SEE_MESSAGES)
def send_again(work: Work, message_id: int) -> MessageView:
    """Try a mail that did not get through once more; raises Conflict for any other message."""
    row = _own(work, message_id)
    if row.state is not MessageState.FAILED:
        raise Conflict("Only mail that did not get through can be sent again.")
    row.state, row.tries, row.due_at, row.settled_at = MessageState.WAITING, 0, work.now, None
    note(work, "sent again", "message", subject_id=row.id, recipient_id=row.recipient_id)
    ask_to_send(work, row.id, work.now)
    work.session.flush()  # the view reads what was just written
    return message(work, message_id)


@usecase(May.KEEP_OWN_ACCOUNT)
def keep_wishes(work: Work, command: KeepWishes) -> WishesView:
    """Keep when and how the actor wants to be written to, from the next message on."""
    if work.actor.account_id is None:
        raise Invalid("Only somebody with an account can say how to be written to.")
    row = _wishes_row(work, work.actor.account_id)
    row.quiet_from, row.quiet_until, row.digest_day = command.quiet_from, command.quiet_until, command.digest_day
    row.unsubscribed_at = None if command.wants_mail else row.unsubscribed_at or work.now
    note(work, "changed", "wishes", subject_id=work.actor.account_id)
    work.session.flush()  # the view reads what was just written
    return wishes(work, work.actor.account_id)


@usecase(May.STOP_MAIL)
def stop_mail(work: Work, reader: Reader) -> bool:
    """Write to somebody no more but for what is urgent or needed; False without such an account. Twice is once."""
    if reader.account_id is None:
        stopped = {"mailbox": reader.mailbox, "stopped_at": work.now}
        insert_unless_there(work.session, StoppedRow, stopped)
    elif work.session.get(AccountRow, reader.account_id) is not None:
        row = _wishes_row(work, reader.account_id)
        row.unsubscribed_at = row.unsubscribed_at or work.now
    else:
        return False
    dropped = {"state": MessageState.DROPPED, "settled_at": work.now, "problem": NO_MAIL_WANTED}
    work.session.execute(
        sa.update(MessageRow).where(MessageRow.id.in_(_can_be_dropped(work, reader))).values(**dropped),
        execution_options={"synchronize_session": False},
    )
    note(work, "stopped", "mail", subject_id=reader.account_id)
    return True


@usecase(May.STOP_MAIL)
def want_mail(work: Work, reader: Reader) -> None:
    """Write to a mailbox again; raises Invalid for an account, whose wishes are kept by who signs in."""
    if reader.account_id is not None:
        raise Invalid("Sign in, and say under “Your account” that you want mail again.")
    work.session.execute(sa.delete(StoppedRow).where(StoppedRow.mailbox == reader.mailbox))
    note(work, "wanted again", "mail")


def _can_be_dropped(work: Work, reader: Reader) -> list[int]:
    """What waits to be sent to somebody by mail and is neither urgent nor needed."""
    waiting = sa.select(MessageRow.id, MessageRow.key, MessageRow.to_address).where(
        MessageRow.state == MessageState.WAITING,
        MessageRow.channel == Channel.MAIL,
        MessageRow.account_id == reader.account_id if reader.account_id else MessageRow.account_id.is_(None),
        ~MessageRow.urgent,
    )
    return [
        row.id
        for row in work.session.execute(waiting)
        if not is_needed(row.key) and reader.mailbox in {"", mailbox(row.to_address)}
    ]


def _wishes_row(work: Work, account_id: int) -> QuietRow:
    insert_unless_there(work.session, QuietRow, {"account_id": account_id, **KeepWishes().model_dump(include=_HOURS)})
    return work.session.get_one(QuietRow, account_id)


_HOURS = {"quiet_from", "quiet_until", "digest_day"}


def _settled(work: Work, row: MessageRow, state: MessageState, said: str) -> MessageView:
    changes = {"state": [row.state, state], "said": ["", said]}
    row.state, row.settled_at, row.settled_by, row.problem = state, work.now, work.actor.name, said
    row.body = without_secrets(row.body)
    note(work, "settled", "message", subject_id=row.id, recipient_id=row.recipient_id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return message(work, row.id)


def _own(work: Work, message_id: int) -> MessageRow:
    message(work, message_id)  # raises NotFound for what is not the actor's
    return work.session.get_one(MessageRow, message_id, with_for_update=True, populate_existing=True)


def _site_of(work: Work, recipient_id: int | None, account_id: int | None) -> int | None:
    if recipient_id is not None:
        return work.session.scalar(sa.select(RecipientRow.site_id).where(RecipientRow.id == recipient_id))
    if account_id is not None:
        own = sa.select(sa.func.min(AccountSiteRow.site_id)).where(AccountSiteRow.account_id == account_id)
        return work.session.scalar(own)
    return None
