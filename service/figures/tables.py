"""Rows of sheets: what was told up to a day, kept as it was told."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base


class SheetRow(Base):
    """A sheet; the database lets nobody alter or remove it. `body` is a `SheetView`, `sha256` that of its text."""

    __tablename__ = "figure_sheets"

    id: Mapped[int] = mapped_column(primary_key=True)
    until: Mapped[date] = mapped_column(unique=True)
    computed_at: Mapped[datetime]
    method: Mapped[str]
    body: Mapped[dict[str, Any]]
    sha256: Mapped[str] = mapped_column(sa.String(64))
