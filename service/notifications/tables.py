"""Rows of messages, and of when somebody wants none."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.notifications.rules import Channel, MessageState


class MessageRow(Base):
    """One thing told to one person. `key` is unique: what was told is not told again."""

    __tablename__ = "messages"
    __table_args__ = (sa.Index("ix_messages_state_channel_due_at", "state", "channel", "due_at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(unique=True)
    site_id: Mapped[int | None] = mapped_column(sa.ForeignKey("sites.id"))
    recipient_id: Mapped[int | None] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    account_id: Mapped[int | None] = mapped_column(sa.ForeignKey("accounts.id"), index=True)
    channel: Mapped[Channel] = mapped_column(word(Channel))
    to_name: Mapped[str]
    to_address: Mapped[str]
    language: Mapped[str] = mapped_column(default="en")
    subject: Mapped[str]
    body: Mapped[str]
    urgent: Mapped[bool] = mapped_column(default=False)
    state: Mapped[MessageState] = mapped_column(word(MessageState), default=MessageState.WAITING)
    due_at: Mapped[datetime]
    written_at: Mapped[datetime]
    settled_at: Mapped[datetime | None]
    settled_by: Mapped[str | None]
    tries: Mapped[int] = mapped_column(default=0)
    problem: Mapped[str] = mapped_column(default="")


class StoppedRow(Base):
    """A mailbox whose reader has no account and wants no mail but what is needed; of its address a hash is kept."""

    __tablename__ = "stopped_mailboxes"

    mailbox: Mapped[str] = mapped_column(primary_key=True)
    stopped_at: Mapped[datetime]


class QuietRow(Base):
    """What an account wants to hear: hours of quiet (local, 0-23), one digest a week or each message, or nothing."""

    __tablename__ = "quiet_wishes"

    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), primary_key=True)
    quiet_from: Mapped[int] = mapped_column(default=20)
    quiet_until: Mapped[int] = mapped_column(default=8)
    digest_day: Mapped[int | None]
    unsubscribed_at: Mapped[datetime | None]
