"""Rows of a case: the recipient, limbs, contacts, consents, suitability notes, helpers, reviews."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.recipients.rules import (
    CaseState,
    Cause,
    ConsentKind,
    Level,
    Purpose,
    Reach,
    Responsibility,
    Sex,
    Side,
    Verdict,
)


class RecipientRow(Base):
    """The person. `search_name` is the folded name; `latex_allergy` None means nobody has asked yet."""

    __tablename__ = "recipients"
    __table_args__ = (
        sa.Index("ix_recipients_site_id_search_name_id", "site_id", "search_name", "id"),
        sa.Index("ix_recipients_site_id_state", "site_id", "state"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    case_number: Mapped[str] = mapped_column(unique=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"))
    given_name: Mapped[str]
    family_name: Mapped[str]
    search_name: Mapped[str]
    birth_date: Mapped[date]
    sex: Mapped[Sex] = mapped_column(word(Sex))
    language: Mapped[str] = mapped_column(default="en")
    town_id: Mapped[int | None] = mapped_column(sa.ForeignKey("towns.id"))
    state: Mapped[CaseState] = mapped_column(word(CaseState), default=CaseState.ENQUIRY)
    state_reason: Mapped[str] = mapped_column(default="")
    state_since: Mapped[date]
    latex_allergy: Mapped[bool | None]
    skin_allergies: Mapped[str] = mapped_column(default="")
    colour_wishes: Mapped[str] = mapped_column(default="")
    notes: Mapped[str] = mapped_column(default="")
    prescriber_name: Mapped[str] = mapped_column(default="")
    prescriber_profession: Mapped[str] = mapped_column(default="")
    prescriber_registration: Mapped[str] = mapped_column(default="")
    prescribed_on: Mapped[date | None]
    created_at: Mapped[datetime]
    changed_at: Mapped[datetime]


class LimbRow(Base):
    """An affected limb; at most one a side."""

    __tablename__ = "limbs"
    __table_args__ = (sa.UniqueConstraint("recipient_id", "side"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"))
    side: Mapped[Side] = mapped_column(word(Side))
    cause: Mapped[Cause] = mapped_column(word(Cause))
    level: Mapped[Level] = mapped_column(word(Level))
    note: Mapped[str] = mapped_column(default="")


class ContactRow(Base):
    """A guardian or other family contact."""

    __tablename__ = "contacts"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    name: Mapped[str]
    relation: Mapped[str] = mapped_column(default="")
    responsibility: Mapped[Responsibility] = mapped_column(word(Responsibility))
    reach_by: Mapped[Reach] = mapped_column(word(Reach))
    email: Mapped[str] = mapped_column(default="")
    phone: Mapped[str] = mapped_column(default="")
    address: Mapped[str] = mapped_column(default="")
    ended_on: Mapped[date | None]


class ConsentRow(Base):
    """A yes to one purpose, until withdrawn."""

    __tablename__ = "consents"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    kind: Mapped[ConsentKind] = mapped_column(word(ConsentKind))
    purpose: Mapped[Purpose] = mapped_column(word(Purpose))
    given_by: Mapped[str]
    given_on: Mapped[date]
    words: Mapped[str] = mapped_column(default="")
    withdrawn_on: Mapped[date | None]


class SuitabilityRow(Base):
    """A clinician's note, dated; the newest counts."""

    __tablename__ = "suitability_notes"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    verdict: Mapped[Verdict] = mapped_column(word(Verdict))
    watch_for: Mapped[str] = mapped_column(default="")
    noted_by: Mapped[str]
    noted_on: Mapped[date]


class HelperRow(Base):
    """A volunteer asked to help with a case, so able to see it, until ended."""

    __tablename__ = "helpers"

    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), primary_key=True)
    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), primary_key=True, index=True)
    since: Mapped[date]
    until: Mapped[date | None]


class ReviewRow(Base):
    """A review at 16 or 18 that has been held."""

    __tablename__ = "reviews"

    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), primary_key=True)
    age: Mapped[int] = mapped_column(primary_key=True)
    held_on: Mapped[date]
    outcome: Mapped[str]
