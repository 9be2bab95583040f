"""Reading messages, narrowed to the actor's sites, and what somebody wants to hear."""

from __future__ import annotations

from typing import Any, TypeVar

import sqlalchemy as sa

from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.kit.errors import NotFound
from service.kit.paging import Page, decode, encode
from service.notifications.families import subject_in_english
from service.notifications.links import mailbox
from service.notifications.rules import QUIET_FROM, QUIET_UNTIL, Channel, MessageState, without_secrets
from service.notifications.schemas import MessageFilter, MessageLine, MessageView, ToDo, WishesView
from service.notifications.tables import MessageRow, QuietRow, StoppedRow
from service.recipients.tables import RecipientRow

MOST_SHOWN = 50

_LINE = (
    *(MessageRow.id, MessageRow.channel, MessageRow.to_name, MessageRow.to_address, MessageRow.subject),
    *(MessageRow.urgent, MessageRow.state, MessageRow.due_at, MessageRow.written_at, MessageRow.problem),
    *(RecipientRow.case_number, SiteRow.name.label("site_name"), MessageRow.language, MessageRow.key),
)

L = TypeVar("L", bound=MessageLine)


@usecase(May.SEE_MESSAGES)
def messages(work: Work, wanted: MessageFilter) -> Page[MessageLine]:
    """Messages of the actor's sites, the newest first."""
    statement = _lines(work, *_LINE).order_by(MessageRow.id.desc())
    if wanted.state:
        statement = statement.where(MessageRow.state == wanted.state)
    if wanted.channel:
        statement = statement.where(MessageRow.channel == wanted.channel)
    if wanted.to_do:
        statement = statement.where(_for_a_person())
    if wanted.cursor is not None:
        statement = statement.where(MessageRow.id < decode(wanted.cursor, (int,))[0])
    rows = work.session.execute(statement.limit(wanted.limit + 1)).all()
    shown = [_as(MessageLine, row) for row in rows[: wanted.limit]]
    return Page(items=shown, next=encode((shown[-1].id,)) if len(rows) > len(shown) else None)


@usecase(May.SEE_MESSAGES)
def message(work: Work, message_id: int) -> MessageView:
    """One message; raises NotFound for none, and for one of a site that is not the actor's."""
    more = (MessageRow.body, MessageRow.tries, MessageRow.settled_at, MessageRow.settled_by)
    row = work.session.execute(_lines(work, *_LINE, *more).where(MessageRow.id == message_id)).one_or_none()
    if row is None:
        raise NotFound("There is no message with this number among those of your sites.")
    found = _as(MessageView, row)
    if found.channel is Channel.LETTER and found.state is MessageState.WAITING:
        return found
    return found.model_copy(update={"body": without_secrets(found.body)})


@usecase(May.SEE_MESSAGES)
def to_do(work: Work) -> ToDo:
    """Whom somebody has to ring or write to at the actor's sites, what is urgent first, then the oldest."""
    counts = sa.select(sa.func.count(), sa.func.count().filter(MessageRow.urgent)).select_from(MessageRow)
    count, urgent = work.session.execute(counts.where(_at_own_sites(work), _for_a_person())).one()
    first = _lines(work, *_LINE).where(_for_a_person()).order_by(MessageRow.urgent.desc(), MessageRow.id)
    rows = work.session.execute(first.limit(MOST_SHOWN))
    return ToDo(count=count, urgent=urgent, items=[_as(MessageLine, row) for row in rows])


@usecase(May.KEEP_OWN_ACCOUNT)
def own_wishes(work: Work) -> WishesView:
    """When and how the actor wants to be written to."""
    return wishes(work, work.actor.account_id)


def wishes(work: Work, account_id: int | None, address: str = "") -> WishesView:
    """When and how somebody wants to be written to; as usual for whoever said nothing. Part of telling them.

    Without an account all there is to say is that no mail is wanted at an address.
    """
    row = work.session.get(QuietRow, account_id) if account_id is not None else None
    if row is None:
        stopped = account_id is None and work.session.get(StoppedRow, mailbox(address)) is not None
        return WishesView(quiet_from=QUIET_FROM, quiet_until=QUIET_UNTIL, digest_day=None, wants_mail=not stopped)
    return WishesView(
        quiet_from=row.quiet_from,
        quiet_until=row.quiet_until,
        digest_day=row.digest_day,
        wants_mail=row.unsubscribed_at is None,
    )


def _as(view: type[L], row: sa.Row[Any]) -> L:
    plain = row.channel is Channel.CALL  # its subject is for whoever rings
    subject = "" if plain else subject_in_english(row.key, row.language)
    return view.model_validate({**row._mapping, "in_english": subject})


def _for_a_person() -> sa.ColumnElement[bool]:
    """What no machine will do: calls and letters to make, and mail that did not get through."""
    by_hand = sa.and_(MessageRow.state == MessageState.WAITING, MessageRow.channel != Channel.MAIL)
    return sa.or_(by_hand, MessageRow.state == MessageState.FAILED)


def _lines(work: Work, *columns: Any) -> sa.Select[Any]:
    joined = sa.select(*columns).select_from(MessageRow).join(SiteRow, SiteRow.id == MessageRow.site_id)
    return joined.outerjoin(RecipientRow, RecipientRow.id == MessageRow.recipient_id).where(_at_own_sites(work))


def _at_own_sites(work: Work) -> sa.ColumnElement[bool]:
    return sa.true() if Role.SYSTEM in work.actor.roles else MessageRow.site_id.in_(work.actor.sites)
