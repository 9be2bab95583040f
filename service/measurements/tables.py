"""Rows of sessions and their readings."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.anthropometry.dimensions import Dimension
from service.kit.db import Base, word
from service.measurements.rules import Method
from service.recipients.rules import Side


class MeasurementRow(Base):
    """A session. `taken_by` is whoever held the tape, who may have no account.

    `corrections` lists, oldest first, what its day, method or taker was before, and who put it right when and why.
    """

    __tablename__ = "measurements"
    __table_args__ = (sa.Index("ix_measurements_recipient_id_taken_on", "recipient_id", "taken_on"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"))
    taken_on: Mapped[date]
    method: Mapped[Method] = mapped_column(word(Method))
    taken_by: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]
    corrections: Mapped[list[Any]]


class ReadingRow(Base):
    """One reading, in mm (kg for weight). `doubts` holds what was odd when confirmed; a struck one counts no more."""

    __tablename__ = "readings"

    id: Mapped[int] = mapped_column(primary_key=True)
    measurement_id: Mapped[int] = mapped_column(sa.ForeignKey("measurements.id"), index=True)
    dimension: Mapped[Dimension] = mapped_column(word(Dimension))
    side: Mapped[Side | None] = mapped_column(word(Side))
    level_mm: Mapped[float | None]
    landmark: Mapped[str] = mapped_column(default="")
    value: Mapped[float]
    spread: Mapped[float]
    repeats: Mapped[list[Any]]
    doubts: Mapped[list[Any]]
    corrects_id: Mapped[int | None] = mapped_column(sa.ForeignKey("readings.id"), unique=True)
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str | None]
    struck_why: Mapped[str | None]
