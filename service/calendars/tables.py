"""Rows of feeds."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base


class FeedRow(Base):
    """The feed of an account; what it opens by is kept as a hash, and None once it was ended."""

    __tablename__ = "calendar_feeds"

    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), primary_key=True)
    key_hash: Mapped[str | None] = mapped_column(unique=True)
    made_at: Mapped[datetime]
    fetched_at: Mapped[datetime | None]
