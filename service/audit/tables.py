"""The audit's one table."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base


class AuditRow(Base):
    """One act. Ids are kept without foreign keys: the trail outlives what it speaks of."""

    __tablename__ = "audit_entries"
    __table_args__ = (
        sa.Index("ix_audit_entries_recipient_id_id", "recipient_id", "id"),
        # The history of what belongs to no case: a lot, a design.
        sa.Index(
            "ix_audit_entries_subject_subject_id",
            "subject",
            "subject_id",
            sqlite_where=sa.text("recipient_id IS NULL"),
            postgresql_where=sa.text("recipient_id IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    account_id: Mapped[int | None]
    actor: Mapped[str]
    act: Mapped[str]
    recipient_id: Mapped[int | None]
    subject: Mapped[str]
    subject_id: Mapped[int | None]
    changes: Mapped[dict[str, Any]]
