"""Rows of volunteers, their printers, stock, absences, training, vetting and visits."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.volunteers.rules import PrinterState, Skill, VettingKind


class VolunteerRow(Base):
    """A person who makes or fits; `account_id` is how they sign in, if they do."""

    __tablename__ = "volunteers"

    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"), index=True)
    account_id: Mapped[int | None] = mapped_column(sa.ForeignKey("accounts.id"), unique=True)
    town_id: Mapped[int | None] = mapped_column(sa.ForeignKey("towns.id"))
    name: Mapped[str]
    email: Mapped[str] = mapped_column(default="")
    phone: Mapped[str] = mapped_column(default="")
    languages: Mapped[list[Any]]
    hours_a_week: Mapped[float] = mapped_column(default=3.0)
    jobs_at_once: Mapped[int] = mapped_column(default=2)
    travels_km: Mapped[float] = mapped_column(default=0.0)
    note: Mapped[str] = mapped_column(default="")
    since: Mapped[date]
    left_on: Mapped[date | None]
    looked_at: Mapped[datetime]


class PrinterRow(Base):
    """A printer: usable volume in mm (width, depth, height), nozzle in mm, materials it prints well."""

    __tablename__ = "printers"

    id: Mapped[int] = mapped_column(primary_key=True)
    volunteer_id: Mapped[int] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    name: Mapped[str]
    width_mm: Mapped[float]
    depth_mm: Mapped[float]
    height_mm: Mapped[float]
    nozzle_mm: Mapped[float] = mapped_column(default=0.4)
    materials: Mapped[list[Any]]
    state: Mapped[PrinterState] = mapped_column(word(PrinterState), default=PrinterState.WORKING)
    note: Mapped[str] = mapped_column(default="")


class StockRow(Base):
    """Material on hand; grams left, as far as somebody knows."""

    __tablename__ = "volunteer_stock"

    id: Mapped[int] = mapped_column(primary_key=True)
    volunteer_id: Mapped[int] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(sa.ForeignKey("lots.id"))
    material: Mapped[str]
    colour: Mapped[str]
    grams: Mapped[float | None]
    gone_on: Mapped[date | None]


class AbsenceRow(Base):
    """Days away, both included."""

    __tablename__ = "absences"

    id: Mapped[int] = mapped_column(primary_key=True)
    volunteer_id: Mapped[int] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    since: Mapped[date]
    until: Mapped[date]
    note: Mapped[str] = mapped_column(default="")


class TrainingRow(Base):
    """Something a volunteer was trained for; a review may be due by the site's policy."""

    __tablename__ = "trainings"

    id: Mapped[int] = mapped_column(primary_key=True)
    volunteer_id: Mapped[int] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    skill: Mapped[Skill] = mapped_column(word(Skill))
    trained_on: Mapped[date]
    review_due_on: Mapped[date | None]
    recorded_by: Mapped[str]


class VettingRow(Base):
    """A safeguarding check, with its review due by policy."""

    __tablename__ = "vettings"

    id: Mapped[int] = mapped_column(primary_key=True)
    volunteer_id: Mapped[int] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    kind: Mapped[VettingKind] = mapped_column(word(VettingKind))
    checked_on: Mapped[date]
    review_due_on: Mapped[date]
    note: Mapped[str] = mapped_column(default="")
    recorded_by: Mapped[str]
    recorded_at: Mapped[datetime]
    ended_on: Mapped[date | None]


class VisitRow(Base):
    """A visit to a recipient: who went, and which guardian was present."""

    __tablename__ = "visits"

    id: Mapped[int] = mapped_column(primary_key=True)
    volunteer_id: Mapped[int] = mapped_column(sa.ForeignKey("volunteers.id"), index=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    visited_on: Mapped[date]
    guardian_present: Mapped[str]
    what_for: Mapped[str]
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]
