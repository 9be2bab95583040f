"""Rows of devices, sockets in place with their limits, control settings and sock reports."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.anthropometry.dimensions import Dimension
from service.devices.rules import EndReason, Fit, StoppedWhy, Use
from service.kit.db import Base, word
from service.recipients.rules import Side


class DeviceRow(Base):
    """What a recipient uses on one side for one purpose ("everyday", "cycling")."""

    __tablename__ = "devices"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    replaces_id: Mapped[int | None] = mapped_column(sa.ForeignKey("devices.id"))
    purpose: Mapped[str]
    side: Mapped[Side] = mapped_column(word(Side))
    use: Mapped[Use] = mapped_column(word(Use), default=Use.IN_USE)
    stopped_on: Mapped[date | None]
    stopped_why: Mapped[StoppedWhy | None] = mapped_column(word(StoppedWhy))
    stopped_reason: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    created_at: Mapped[datetime]


class SocketRow(Base):
    """A socket in place; `ended_on` None means it is worn now. Of a mistake, `ended_on` is the day it was struck."""

    __tablename__ = "sockets"
    __table_args__ = (
        sa.Index(
            "uq_sockets_in_place",
            "device_id",
            unique=True,
            sqlite_where=sa.text("ended_on IS NULL"),
            postgresql_where=sa.text("ended_on IS NULL"),
        ),
        sa.Index("ix_sockets_device_id", "device_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    device_id: Mapped[int] = mapped_column(sa.ForeignKey("devices.id"))
    fitted_on: Mapped[date]
    socks_at_fitting: Mapped[list[Any]]
    note: Mapped[str] = mapped_column(default="")
    ended_on: Mapped[date | None]
    end_reason: Mapped[EndReason | None] = mapped_column(word(EndReason))
    end_note: Mapped[str] = mapped_column(default="")
    ended_by: Mapped[str | None]


class LimitRow(Base):
    """The bare-limb size, in mm, at which a socket is tight; `doubts` holds what was odd about it when confirmed."""

    __tablename__ = "socket_limits"
    __table_args__ = (sa.UniqueConstraint("socket_id", "dimension", "side", "level_mm"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    socket_id: Mapped[int] = mapped_column(sa.ForeignKey("sockets.id"), index=True)
    dimension: Mapped[Dimension] = mapped_column(word(Dimension))
    side: Mapped[Side | None] = mapped_column(word(Side))
    level_mm: Mapped[float | None]
    tight_at_mm: Mapped[float]
    doubts: Mapped[list[Any]]


class ControlSettingRow(Base):
    """One setting of a powered device on a day; names are the volunteers' own."""

    __tablename__ = "control_settings"

    id: Mapped[int] = mapped_column(primary_key=True)
    device_id: Mapped[int] = mapped_column(sa.ForeignKey("devices.id"), index=True)
    set_on: Mapped[date]
    name: Mapped[str]
    value: Mapped[str]
    unit: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")


class SockReportRow(Base):
    """Socks worn together in a socket on a day; an empty list of plies is none. A struck report counts no more."""

    __tablename__ = "sock_reports"
    __table_args__ = (
        sa.Index("ix_sock_reports_device_id_worn_on", "device_id", "worn_on"),
        sa.Index("ix_sock_reports_socket_id_worn_on", "socket_id", "worn_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    device_id: Mapped[int] = mapped_column(sa.ForeignKey("devices.id"))
    socket_id: Mapped[int] = mapped_column(sa.ForeignKey("sockets.id"))
    worn_on: Mapped[date]
    plies: Mapped[list[Any]]
    fit: Mapped[Fit] = mapped_column(word(Fit))
    note: Mapped[str] = mapped_column(default="")
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str | None]
    struck_why: Mapped[str | None]
