"""Whom of a family to ask how it goes, and how: by mail where they can answer on their own page, else by a call."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.work import Work
from service.family.tables import LinkRow
from service.notifications.actions import tell_family
from service.notifications.families import FamilyMessage
from service.notifications.queries import wishes
from service.notifications.rules import Channel, channel_for
from service.notifications.schemas import Person
from service.notifications.tables import MessageRow
from service.outcomes.rules import TOGETHER
from service.outcomes.schemas import ToAsk
from service.recipients.rules import Reach, Responsibility
from service.recipients.tables import ContactRow

_ASKS = (FamilyMessage.HOW_IT_GOES, FamilyMessage.CALL_HOW_IT_GOES)


def ask_family(work: Work, asked: ToAsk) -> bool:
    """Ask a family once about an ask; whether anybody was asked now.

    Not where the same family was asked about another device within a week; and where nobody is on record, the list of
    whom to ask is all there is.
    """
    about = f"{asked.device}:{asked.ask}"
    if _was_asked(work, asked, about):
        return False
    current = sa.select(ContactRow).where(ContactRow.recipient_id == asked.recipient, ContactRow.ended_on.is_(None))
    decides = ContactRow.responsibility != Responsibility.YES
    contacts = work.session.scalars(current.order_by(decides, ContactRow.id)).all()
    reads = next((each for each in contacts if _answers_by_mail(work, each)), None)
    if reads is not None:
        return tell_family(work, FamilyMessage.HOW_IT_GOES, about, to=reads, recipient_id=asked.recipient)
    if not contacts:
        return False
    rung = Person(contacts[0].name, phone=contacts[0].phone, reach_by=Reach.PHONE)
    path = f"/recipients/{asked.case_number}/follow-ups/new?device={asked.device}"
    return tell_family(work, FamilyMessage.CALL_HOW_IT_GOES, about, to=rung, recipient_id=asked.recipient, path=path)


def _was_asked(work: Work, asked: ToAsk, about: str) -> bool:
    same = MessageRow.key.in_([f"{message.value}:{about}" for message in _ASKS])
    lately = sa.and_(
        MessageRow.recipient_id == asked.recipient,
        MessageRow.written_at > work.now - TOGETHER,
        sa.or_(*(MessageRow.key.startswith(f"{message.value}:", autoescape=True) for message in _ASKS)),
    )
    return bool(work.session.scalar(sa.select(sa.exists().where(sa.or_(same, lately)))))


def _answers_by_mail(work: Work, contact: ContactRow) -> bool:
    """Whether somebody takes mail and holds a link that opens the pages on which to answer."""
    channel, address = channel_for(contact.reach_by, email=contact.email, phone=contact.phone, address=contact.address)
    if channel is not Channel.MAIL or not wishes(work, None, address).wants_mail:
        return False
    opens = (LinkRow.contact_id == contact.id, LinkRow.revoked_at.is_(None), LinkRow.ends_at > work.now)
    return bool(work.session.scalar(sa.select(sa.exists().where(*opens))))
