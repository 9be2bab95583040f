"""Rows of part designs, part versions and shapes. Files lie in the file store, under the hash of their content."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.geometry.answers import Format, LengthUnit
from service.kit.db import Base, word
from service.parts.rules import Digit, PartKind, ShapeMethod, VersionState
from service.recipients.rules import Side


class DesignRow(Base):
    """Something that can be printed, in versions; `interface` is what new versions mate with unless they say.

    `search_name` is the name as it is searched for: two that differ by a capital letter would be taken for one another.
    """

    __tablename__ = "part_designs"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    search_name: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[PartKind] = mapped_column(word(PartKind))
    digit: Mapped[Digit | None] = mapped_column(word(Digit))
    side: Mapped[Side | None] = mapped_column(word(Side))
    interface: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    created_at: Mapped[datetime]
    created_by: Mapped[str]


class ShapeRow(Base):
    """A cast or a scan of one limb; struck through when it was a mistake."""

    __tablename__ = "shapes"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    side: Mapped[Side] = mapped_column(word(Side))
    taken_on: Mapped[date]
    taken_by: Mapped[str]
    method: Mapped[ShapeMethod] = mapped_column(word(ShapeMethod))
    note: Mapped[str] = mapped_column(default="")
    file_sha256: Mapped[str] = mapped_column(sa.String(64))
    file_name: Mapped[str]
    file_bytes: Mapped[int]
    format: Mapped[Format] = mapped_column(word(Format))
    unit: Mapped[LengthUnit] = mapped_column(word(LengthUnit))
    picture_sha256: Mapped[str] = mapped_column(sa.String(64))
    geometry: Mapped[dict[str, Any]]
    created_at: Mapped[datetime]
    created_by: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str | None]
    struck_why: Mapped[str | None]


class VersionRow(Base):
    """A version of a design, or of a socket made from a shape; the database lets nobody alter it once released."""

    __tablename__ = "part_versions"
    __table_args__ = (
        sa.UniqueConstraint("design_id", "number"),
        sa.UniqueConstraint("shape_id", "number"),
        sa.CheckConstraint("(design_id IS NULL) <> (shape_id IS NULL)", name="of_a_design_or_a_shape"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    design_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part_designs.id"))
    shape_id: Mapped[int | None] = mapped_column(sa.ForeignKey("shapes.id"))
    number: Mapped[int]
    what_changed: Mapped[str]
    why: Mapped[str] = mapped_column(default="")
    licence: Mapped[str] = mapped_column(default="")
    interface: Mapped[str] = mapped_column(default="")
    materials: Mapped[list[Any]]
    print_settings: Mapped[dict[str, Any]]
    features: Mapped[list[Any]]
    checks: Mapped[list[Any]]
    axis: Mapped[dict[str, Any]]
    inside: Mapped[dict[str, Any] | None]
    file_sha256: Mapped[str] = mapped_column(sa.String(64))
    file_name: Mapped[str]
    file_bytes: Mapped[int]
    format: Mapped[Format] = mapped_column(word(Format))
    unit: Mapped[LengthUnit] = mapped_column(word(LengthUnit))
    picture_sha256: Mapped[str] = mapped_column(sa.String(64))
    geometry: Mapped[dict[str, Any]]
    created_at: Mapped[datetime]
    created_by: Mapped[str]
    state: Mapped[VersionState] = mapped_column(word(VersionState), default=VersionState.DRAFT)
    released_at: Mapped[datetime | None]
    released_by: Mapped[str | None]
    released_why: Mapped[str | None]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str | None]
    withdrawn_why: Mapped[str | None]
    successor_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part_versions.id"))
