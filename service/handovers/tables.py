"""Rows of deliveries, of fittings that were begun, and of days to ask how it goes."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base


class DeliveryRow(Base):
    """A build was given to somebody, once in each round."""

    __tablename__ = "deliveries"
    __table_args__ = (sa.UniqueConstraint("build_id", "round"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"))
    round: Mapped[int]
    on: Mapped[date]
    to: Mapped[str]
    by_post: Mapped[bool] = mapped_column(default=False)
    logged_at: Mapped[datetime]
    logged_by: Mapped[str]


class FittingRow(Base):
    """A fitting: when it was put on and the skin is looked at; once done, who did it and who was told what."""

    __tablename__ = "fittings"
    __table_args__ = (sa.UniqueConstraint("build_id", "round"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"))
    round: Mapped[int]
    put_on_at: Mapped[datetime | None]
    look_at: Mapped[datetime | None]
    begun_by: Mapped[str]
    by_family: Mapped[bool] = mapped_column(default=False)
    on_the_phone: Mapped[str] = mapped_column(default="")
    guardian_present: Mapped[str] = mapped_column(default="")
    cautions_acknowledged_by: Mapped[str] = mapped_column(default="")
    fitted_on: Mapped[date | None]
    check_id: Mapped[int | None] = mapped_column(sa.ForeignKey("checks.id"))
    done_at: Mapped[datetime | None]
    done_by: Mapped[str | None]


class FollowUpRow(Base):
    """A day on which somebody asks how it goes; it is done when a follow-up check is signed from `counts_from` on."""

    __tablename__ = "follow_ups"
    __table_args__ = (sa.UniqueConstraint("build_id", "name"), sa.Index("ix_follow_ups_due_on", "due_on"))

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"))
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    device_id: Mapped[int] = mapped_column(sa.ForeignKey("devices.id"))
    name: Mapped[str]
    due_on: Mapped[date]
    counts_from: Mapped[date]
