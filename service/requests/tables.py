"""Rows of requests, the parts they name, the waits of their clock, and questions."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Side
from service.requests.rules import Asker, RequestKind, RequestState, WaitsFor, WhatHappened


class RequestRow(Base):
    """Something that is asked for. `need` names what it is about, unique among those not yet settled."""

    __tablename__ = "requests"
    __table_args__ = (
        sa.Index(
            "uq_requests_need_unsettled",
            "need",
            unique=True,
            sqlite_where=sa.text("settled_at IS NULL"),
            postgresql_where=sa.text("settled_at IS NULL"),
        ),
        sa.Index("ix_requests_state_needed_by", "state", "needed_by"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    device_id: Mapped[int | None] = mapped_column(sa.ForeignKey("devices.id"))
    kind: Mapped[RequestKind] = mapped_column(word(RequestKind))
    need: Mapped[str]
    asker: Mapped[Asker] = mapped_column(word(Asker))
    asked_by: Mapped[str]
    asked_at: Mapped[datetime]
    words: Mapped[str] = mapped_column(default="")
    colour: Mapped[str] = mapped_column(default="")
    usable: Mapped[bool | None]
    harm: Mapped[bool] = mapped_column(default=False)
    needed_by: Mapped[date]
    tight_on: Mapped[date | None]
    promised_on: Mapped[date | None]
    rank: Mapped[int | None]
    rank_why: Mapped[str] = mapped_column(default="")
    rank_by: Mapped[str | None]
    state: Mapped[RequestState] = mapped_column(word(RequestState), default=RequestState.OPEN)
    settled_at: Mapped[datetime | None]
    settled_by: Mapped[str | None]
    settled_why: Mapped[str] = mapped_column(default="")
    joined_into_id: Mapped[int | None] = mapped_column(sa.ForeignKey("requests.id"))
    split_from_id: Mapped[int | None] = mapped_column(sa.ForeignKey("requests.id"))


class RequestPartRow(Base):
    """A part that is asked for: what the one worn is, and what became of it."""

    __tablename__ = "request_parts"

    id: Mapped[int] = mapped_column(primary_key=True)
    request_id: Mapped[int] = mapped_column(sa.ForeignKey("requests.id"), index=True)
    place_id: Mapped[int | None] = mapped_column(sa.ForeignKey("places.id"))
    kind: Mapped[PartKind] = mapped_column(word(PartKind))
    what: Mapped[str] = mapped_column(default="")
    digit: Mapped[Digit | None] = mapped_column(word(Digit))
    side: Mapped[Side | None] = mapped_column(word(Side))
    happened: Mapped[WhatHappened] = mapped_column(word(WhatHappened))
    version_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part_versions.id"))
    scale_across: Mapped[float | None]
    scale_along: Mapped[float | None]
    material: Mapped[str] = mapped_column(default="")
    colour: Mapped[str] = mapped_column(default="")
    quantity: Mapped[int] = mapped_column(default=1)


class PhotoRow(Base):
    """A photograph to a request: a JPEG of ours in the file store, without whatever came with the one that was sent."""

    __tablename__ = "request_photos"
    __table_args__ = (sa.UniqueConstraint("request_id", "sha256"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    request_id: Mapped[int] = mapped_column(sa.ForeignKey("requests.id"), index=True)
    sha256: Mapped[str] = mapped_column(sa.String(64))
    size: Mapped[int]
    width: Mapped[int]
    height: Mapped[int]
    added_at: Mapped[datetime]
    added_by: Mapped[str]


class WaitRow(Base):
    """Days on which a request's clock stands still, and who is waited for."""

    __tablename__ = "request_waits"

    id: Mapped[int] = mapped_column(primary_key=True)
    request_id: Mapped[int] = mapped_column(sa.ForeignKey("requests.id"), index=True)
    waits_for: Mapped[WaitsFor] = mapped_column(word(WaitsFor))
    why: Mapped[str]
    since: Mapped[date]
    until: Mapped[date | None]


class QuestionRow(Base):
    """A question back to whoever asked, and the answer."""

    __tablename__ = "request_questions"

    id: Mapped[int] = mapped_column(primary_key=True)
    request_id: Mapped[int] = mapped_column(sa.ForeignKey("requests.id"), index=True)
    question: Mapped[str]
    asked_at: Mapped[datetime]
    asked_by: Mapped[str]
    answer: Mapped[str] = mapped_column(default="")
    answered_at: Mapped[datetime | None]
    answered_by: Mapped[str | None]
