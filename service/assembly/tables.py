"""Rows of parts, the lots they were made from, and their places in devices."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.devices.rules import EndReason
from service.kit.db import Base, word
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Side


class PartRow(Base):
    """A thing: printed when it has a version, bought otherwise."""

    __tablename__ = "parts"

    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"))
    kind: Mapped[PartKind] = mapped_column(word(PartKind))
    what: Mapped[str] = mapped_column(default="")
    digit: Mapped[Digit | None] = mapped_column(word(Digit))
    side: Mapped[Side | None] = mapped_column(word(Side))
    version_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part_versions.id"), index=True)
    scale_across: Mapped[float | None]
    scale_along: Mapped[float | None]
    material: Mapped[str] = mapped_column(default="")
    colour: Mapped[str] = mapped_column(default="")
    serial: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    created_at: Mapped[datetime]
    created_by: Mapped[str]


class PartLotRow(Base):
    """A lot that a part was made from; a long print may take two spools."""

    __tablename__ = "part_lots"

    part_id: Mapped[int] = mapped_column(sa.ForeignKey("parts.id"), primary_key=True)
    lot_id: Mapped[int] = mapped_column(sa.ForeignKey("lots.id"), primary_key=True, index=True)


class PlaceRow(Base):
    """A stay of a part in a device; `until` None: it is there now. Of a mistake, `until` is the day it was struck.

    `doubts` holds what was odd about it when somebody confirmed it.
    """

    __tablename__ = "places"
    __table_args__ = (
        sa.Index(
            "uq_places_part_now",
            "part_id",
            unique=True,
            sqlite_where=sa.text("until IS NULL"),
            postgresql_where=sa.text("until IS NULL"),
        ),
        sa.Index("ix_places_part_id", "part_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    part_id: Mapped[int] = mapped_column(sa.ForeignKey("parts.id"))
    device_id: Mapped[int] = mapped_column(sa.ForeignKey("devices.id"), index=True)
    since: Mapped[date]
    until: Mapped[date | None]
    came_off: Mapped[EndReason | None] = mapped_column(word(EndReason))
    note: Mapped[str] = mapped_column(default="")
    doubts: Mapped[list[Any]]
    end_note: Mapped[str] = mapped_column(default="")
    ended_by: Mapped[str | None]
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]


class SocketPartRow(Base):
    """Which part a socket in place is; when it was worn is the socket's to say. `doubts` as of a place."""

    __tablename__ = "socket_parts"

    socket_id: Mapped[int] = mapped_column(sa.ForeignKey("sockets.id"), primary_key=True)
    part_id: Mapped[int] = mapped_column(sa.ForeignKey("parts.id"), index=True)
    doubts: Mapped[list[Any]]
