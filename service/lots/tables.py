"""Rows of lots."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.lots.rules import LotKind, LotState, LotUnit


class LotRow(Base):
    """A spool or a batch. `what` is what it is in plain words: "PETG 1.75 mm", "geared motor 6 V".

    `search_words` is what it is called by and made of, folded (`rules.search_words`).
    """

    __tablename__ = "lots"
    __table_args__ = (sa.UniqueConstraint("site_id", "maker", "what", "colour", "batch"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"))
    kind: Mapped[LotKind] = mapped_column(word(LotKind))
    what: Mapped[str]
    material: Mapped[str] = mapped_column(default="")
    colour: Mapped[str] = mapped_column(default="")
    maker: Mapped[str]
    batch: Mapped[str]
    received_on: Mapped[date]
    quantity: Mapped[float | None]
    unit: Mapped[LotUnit] = mapped_column(word(LotUnit))
    latex_free: Mapped[bool | None]
    skin_contact: Mapped[bool | None]
    safety_note: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    search_words: Mapped[str] = mapped_column(default="")
    state: Mapped[LotState] = mapped_column(word(LotState), default=LotState.IN_USE)
    state_why: Mapped[str] = mapped_column(default="")
    state_since: Mapped[date]
    created_at: Mapped[datetime]
    created_by: Mapped[str]
