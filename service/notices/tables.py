"""Rows of safety notices, and of the families that were told."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.notices.rules import Answer, NoticeKind, Todo


class NoticeRow(Base):
    """A safety notice; one of `version_id`, `lot_id` and `printer_id` is set, as `kind` says."""

    __tablename__ = "notices"
    __table_args__ = (
        sa.CheckConstraint(
            "(version_id IS NOT NULL AND kind = 'version' AND lot_id IS NULL AND printer_id IS NULL)"
            " OR (lot_id IS NOT NULL AND kind = 'lot' AND version_id IS NULL AND printer_id IS NULL)"
            " OR (printer_id IS NOT NULL AND kind = 'printer' AND version_id IS NULL AND lot_id IS NULL)",
            name="about_one_thing",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[NoticeKind] = mapped_column(word(NoticeKind))
    version_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part_versions.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(sa.ForeignKey("lots.id"), index=True)
    printer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("printers.id"), index=True)
    from_on: Mapped[date | None]
    until_on: Mapped[date | None]
    todo: Mapped[Todo] = mapped_column(word(Todo), default=Todo.STOP)
    why: Mapped[str]
    opened_at: Mapped[datetime]
    opened_by: Mapped[str]
    closed_at: Mapped[datetime | None]
    closed_by: Mapped[str | None]
    outcome: Mapped[str] = mapped_column(default="")


class NoticeCaseRow(Base):
    """A family that was told of a notice, and what it answered."""

    __tablename__ = "notice_cases"

    notice_id: Mapped[int] = mapped_column(sa.ForeignKey("notices.id"), primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), primary_key=True, index=True)
    told_at: Mapped[datetime]
    answer: Mapped[Answer | None] = mapped_column(word(Answer))
    words: Mapped[str] = mapped_column(default="")
    answered_at: Mapped[datetime | None]
    answered_by: Mapped[str | None]
