"""Rows of builds: their items, the prints and lots of each, and every move."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.builds.rules import BuildState, FailedWhy
from service.kit.db import Base, word
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Side


class BuildRow(Base):
    """What is made to answer a request. `round` counts how often it was begun, `since` is when its state began."""

    __tablename__ = "builds"
    __table_args__ = (
        sa.Index(
            "uq_builds_request_not_dropped",
            "request_id",
            unique=True,
            sqlite_where=sa.text("state <> 'dropped'"),
            postgresql_where=sa.text("state <> 'dropped'"),
        ),
        sa.Index("ix_builds_site_id_state", "site_id", "state"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    request_id: Mapped[int] = mapped_column(sa.ForeignKey("requests.id"))
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"))
    device_id: Mapped[int | None] = mapped_column(sa.ForeignKey("devices.id"))
    side: Mapped[Side | None] = mapped_column(word(Side))
    volunteer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    printer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("printers.id"))
    offer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("offers.id"), unique=True)
    state: Mapped[BuildState] = mapped_column(word(BuildState), default=BuildState.PLANNED)
    since: Mapped[datetime]
    round: Mapped[int] = mapped_column(default=1)
    deadline: Mapped[date]
    remarks: Mapped[str] = mapped_column(default="")
    opened_at: Mapped[datetime]
    opened_by: Mapped[str]


class BuildItemRow(Base):
    """A part to be made or bought; `place_id` is the stay of the one it takes the place of."""

    __tablename__ = "build_items"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"), index=True)
    place_id: Mapped[int | None] = mapped_column(sa.ForeignKey("places.id"))
    kind: Mapped[PartKind] = mapped_column(word(PartKind))
    what: Mapped[str] = mapped_column(default="")
    digit: Mapped[Digit | None] = mapped_column(word(Digit))
    side: Mapped[Side | None] = mapped_column(word(Side))
    version_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part_versions.id"), index=True)
    scale_across: Mapped[float | None]
    scale_along: Mapped[float | None]
    material: Mapped[str] = mapped_column(default="")
    colour: Mapped[str] = mapped_column(default="")
    quantity: Mapped[int] = mapped_column(default=1)
    spare: Mapped[bool] = mapped_column(default=False)


class BuildMoveRow(Base):
    """A build went from one state to another."""

    __tablename__ = "build_moves"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"), index=True)
    round: Mapped[int]
    came_from: Mapped[BuildState] = mapped_column(word(BuildState))
    to: Mapped[BuildState] = mapped_column(word(BuildState))
    why: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by: Mapped[str]
    by_account_id: Mapped[int | None] = mapped_column(sa.ForeignKey("accounts.id"))


class PrintRow(Base):
    """One go at an item; `failed_why` None: so many came out, and are in the build unless `discarded_why` says not.

    `press` is the form's own, so that it counts once.
    """

    __tablename__ = "prints"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"), index=True)
    item_id: Mapped[int] = mapped_column(sa.ForeignKey("build_items.id"), index=True)
    printer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("printers.id"), index=True)
    round: Mapped[int]
    quantity: Mapped[int] = mapped_column(default=1)
    failed_why: Mapped[FailedWhy | None] = mapped_column(word(FailedWhy))
    discarded_why: Mapped[str | None]
    hours: Mapped[float | None]
    grams: Mapped[float | None]
    cents: Mapped[int | None]
    remarks: Mapped[str] = mapped_column(default="")
    press: Mapped[str | None] = mapped_column(unique=True)
    printed_on: Mapped[date]
    logged_at: Mapped[datetime]
    logged_by: Mapped[str]
    by_account_id: Mapped[int | None] = mapped_column(sa.ForeignKey("accounts.id"))


class UseRow(Base):
    """What of a lot went into an item, in what the lot is counted in; by a print, or as it was bought."""

    __tablename__ = "lot_uses"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"), index=True)
    item_id: Mapped[int] = mapped_column(sa.ForeignKey("build_items.id"), index=True)
    print_id: Mapped[int | None] = mapped_column(sa.ForeignKey("prints.id"))
    lot_id: Mapped[int] = mapped_column(sa.ForeignKey("lots.id"), index=True)
    amount: Mapped[float | None]


class BuildPartRow(Base):
    """Which part came of an item when it was fitted: from a part on a limb back to its checks, prints and lots."""

    __tablename__ = "build_parts"

    part_id: Mapped[int] = mapped_column(sa.ForeignKey("parts.id"), primary_key=True)
    item_id: Mapped[int] = mapped_column(sa.ForeignKey("build_items.id"), index=True)
