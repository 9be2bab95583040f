"""Rows of plans, offers, and a site's weights."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.matching.rules import OfferState


class WeightsRow(Base):
    """What a site weighs against what, by the names in `matching/model`."""

    __tablename__ = "matching_weights"

    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"), primary_key=True)
    weights: Mapped[dict[str, Any]]
    changed_at: Mapped[datetime]
    changed_by: Mapped[str]


class PlanRow(Base):
    """A plan as it was proposed, and what became of it."""

    __tablename__ = "plans"

    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"), index=True)
    made_at: Mapped[datetime]
    made_by: Mapped[str]
    weights: Mapped[dict[str, Any]]
    result: Mapped[dict[str, Any]]
    settled_at: Mapped[datetime | None]
    settled_by: Mapped[str | None]


class OfferRow(Base):
    """A volunteer asked to make what a request asks for; one may be waiting or accepted for a request at a time."""

    __tablename__ = "offers"
    __table_args__ = (
        sa.Index(
            "uq_offers_request_standing",
            "request_id",
            unique=True,
            sqlite_where=sa.text("state IN ('waiting', 'accepted')"),
            postgresql_where=sa.text("state IN ('waiting', 'accepted')"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    request_id: Mapped[int] = mapped_column(sa.ForeignKey("requests.id"))
    volunteer_id: Mapped[int] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    plan_id: Mapped[int | None] = mapped_column(sa.ForeignKey("plans.id"))
    printer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("printers.id"))
    token_hash: Mapped[str] = mapped_column(unique=True)
    why: Mapped[str]
    deadline: Mapped[date]
    hours: Mapped[float]
    delivers: Mapped[bool] = mapped_column(default=False)
    state: Mapped[OfferState] = mapped_column(word(OfferState), default=OfferState.WAITING)
    offered_at: Mapped[datetime]
    offered_by: Mapped[str]
    lapses_at: Mapped[datetime]
    answered_at: Mapped[datetime | None]
    answer_why: Mapped[str] = mapped_column(default="")
