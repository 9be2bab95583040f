"""Rows of incidents, reviews and concerns."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.kit.db import Base, word
from service.safety.rules import IncidentKind, SkinSeen


class IncidentRow(Base):
    """Something that harmed or could have; `aware_on` starts any clock, `serious` is a named person's judgement."""

    __tablename__ = "incidents"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    device_id: Mapped[int | None] = mapped_column(sa.ForeignKey("devices.id"))
    kind: Mapped[IncidentKind] = mapped_column(word(IncidentKind))
    words: Mapped[str]
    aware_on: Mapped[date]
    opened_at: Mapped[datetime]
    opened_by: Mapped[str]
    serious: Mapped[bool | None]
    judged_at: Mapped[datetime | None]
    judged_by: Mapped[str | None]
    judged_why: Mapped[str] = mapped_column(default="")
    report_by: Mapped[date | None]
    closed_at: Mapped[datetime | None]
    closed_by: Mapped[str | None]
    outcome: Mapped[str | None]
    reported_on: Mapped[date | None]
    not_reported_why: Mapped[str | None]


class ReviewTaskRow(Base):
    """Somebody is to look at a recipient's skin or device by a day."""

    __tablename__ = "review_tasks"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    device_id: Mapped[int | None] = mapped_column(sa.ForeignKey("devices.id"))
    seen: Mapped[SkinSeen] = mapped_column(word(SkinSeen))
    words: Mapped[str] = mapped_column(default="")
    due_on: Mapped[date]
    opened_at: Mapped[datetime]
    opened_by: Mapped[str]
    done_at: Mapped[datetime | None]
    done_by: Mapped[str | None]
    outcome: Mapped[str] = mapped_column(default="")


class ConcernRow(Base):
    """A safeguarding worry about a child or a volunteer, in the words of whoever raised it."""

    __tablename__ = "concerns"

    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"), index=True)
    recipient_id: Mapped[int | None] = mapped_column(sa.ForeignKey("recipients.id"))
    volunteer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("volunteers.id"))
    about: Mapped[str]
    words: Mapped[str]
    raised_at: Mapped[datetime]
    raised_by: Mapped[str]
    reach: Mapped[str] = mapped_column(default="")
    read_at: Mapped[datetime | None]
    closed_at: Mapped[datetime | None]
    outcome: Mapped[str] = mapped_column(default="")
