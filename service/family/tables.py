"""Rows of family links and of what families say that is no request."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.family.rules import SaidKind
from service.kit.db import Base, word


class LinkRow(Base):
    """A personal link; `key_hash` is the SHA-256 of its random text."""

    __tablename__ = "family_links"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    contact_id: Mapped[int | None] = mapped_column(sa.ForeignKey("contacts.id"))
    key_hash: Mapped[str] = mapped_column(unique=True)
    made_at: Mapped[datetime]
    made_by: Mapped[str]
    ends_at: Mapped[datetime]
    revoked_at: Mapped[datetime | None]
    opened_at: Mapped[datetime | None]


class LinkTryRow(Base):
    """A wrong link or a wrong month of birth, kept for throttling; who tried is hashed."""

    __tablename__ = "family_link_tries"
    __table_args__ = (sa.Index("ix_family_link_tries_who_at", "who", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    who: Mapped[str]
    at: Mapped[datetime]


class SaidRow(Base):
    """Thanks, stop, a question about data, a lost link: for a coordinator to see and settle."""

    __tablename__ = "family_words"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    kind: Mapped[SaidKind] = mapped_column(word(SaidKind))
    words: Mapped[str] = mapped_column(default="")
    said_at: Mapped[datetime]
    said_by: Mapped[str]
    settled_at: Mapped[datetime | None]
    settled_by: Mapped[str | None]
