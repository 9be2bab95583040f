"""Rows of stored forecasts, and of the lead times learned for them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.anthropometry.dimensions import Dimension
from service.kit.db import Base, word


class LearnedLeadRow(Base):
    """How long making and delivering took at a site, log-normal: median in days, standard deviation of its logarithm.

    There is a row only where enough was handed over to learn from; `days` is the median in whole days, `learned_from`
    counts the requests behind it, those still waited for too.
    """

    __tablename__ = "learned_leads"

    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"), primary_key=True, autoincrement=False)
    days: Mapped[int]
    median_days: Mapped[float]
    log_sd: Mapped[float]
    learned_from: Mapped[int]
    learned_at: Mapped[datetime]


class ForecastRow(Base):
    """One forecast for a socket in place; `is_newest` marks the one that counts, the others are its record.

    `p10`, `p50`, `p90` are dates, None meaning not within three years of `as_of`; `start_by` is the day by which the
    making must start so that the chance of being outgrown before delivery stays under the site's threshold, and
    `measure_by` the day on which another reading would help that decision most (None: none would help much).
    """

    __tablename__ = "forecasts"
    __table_args__ = (
        sa.Index(
            "uq_forecasts_newest",
            "socket_id",
            unique=True,
            sqlite_where=sa.text("is_newest"),
            postgresql_where=sa.text("is_newest"),
        ),
        sa.Index("ix_forecasts_recipient_id", "recipient_id"),
        sa.Index("ix_forecasts_socket_id_as_of", "socket_id", "as_of"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"))
    device_id: Mapped[int] = mapped_column(sa.ForeignKey("devices.id"))
    socket_id: Mapped[int] = mapped_column(sa.ForeignKey("sockets.id"))
    is_newest: Mapped[bool]
    as_of: Mapped[date]
    computed_at: Mapped[datetime]
    model: Mapped[str]
    inputs_hash: Mapped[str]
    p10: Mapped[date | None]
    p50: Mapped[date | None]
    p90: Mapped[date | None]
    start_by: Mapped[date | None]
    measure_by: Mapped[date | None]
    already: Mapped[float]
    limiting_dimension: Mapped[Dimension | None] = mapped_column(word(Dimension))
    answer: Mapped[dict[str, Any]]
    explanation: Mapped[str]
