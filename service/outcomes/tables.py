"""Rows of follow-ups of devices, of goals and their scores, and of scores of questionnaires."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.devices.rules import StoppedWhy
from service.kit.db import Base, word
from service.outcomes.goal_rules import Voice
from service.outcomes.rules import AnsweredBy, Outcome, Pain, Recommend, Way

STANDS = "outcome <> 'not_reached' AND struck_at IS NULL"
TO_SEE_TO = "NOT used AND seen_to_at IS NULL AND struck_at IS NULL"


class DeviceFollowUpRow(Base):
    """What came of asking how somebody gets on with a device: an answer, a no, or that nobody was reached.

    `ask` is the name of the ask (`two_weeks`, `year_1`); its day follows from when the device was first fitted, so it
    is not kept here. What was skipped is NULL or empty. `seen_to_at` is when somebody saw to it that the device is not
    used any more.
    """

    __tablename__ = "device_follow_ups"
    __table_args__ = (
        sa.Index(
            "uq_device_follow_ups_standing",
            "device_id",
            "ask",
            unique=True,
            sqlite_where=sa.text(STANDS),
            postgresql_where=sa.text(STANDS),
        ),
        sa.Index(
            "ix_device_follow_ups_to_see_to",
            "recipient_id",
            sqlite_where=sa.text(TO_SEE_TO),
            postgresql_where=sa.text(TO_SEE_TO),
        ),
        sa.Index("ix_device_follow_ups_recipient_id_said_on", "recipient_id", "said_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"))
    device_id: Mapped[int] = mapped_column(sa.ForeignKey("devices.id"))
    ask: Mapped[str]
    outcome: Mapped[Outcome] = mapped_column(word(Outcome))
    said_on: Mapped[date]
    way: Mapped[Way] = mapped_column(word(Way))
    answered_by: Mapped[AnsweredBy | None] = mapped_column(word(AnsweredBy))
    used: Mapped[bool | None]
    why_not: Mapped[StoppedWhy | None] = mapped_column(word(StoppedWhy))
    why_not_words: Mapped[str] = mapped_column(default="")
    days_a_week: Mapped[int | None]
    hours_a_day: Mapped[float | None]
    comfort: Mapped[int | None]
    pain: Mapped[Pain | None] = mapped_column(word(Pain))
    pain_where: Mapped[str] = mapped_column(default="")
    used_for: Mapped[list[Any]]
    recommend: Mapped[Recommend | None] = mapped_column(word(Recommend))
    harm: Mapped[str] = mapped_column(default="")
    words: Mapped[str] = mapped_column(default="")
    incident_id: Mapped[int | None] = mapped_column(sa.ForeignKey("incidents.id"))
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]
    seen_to_at: Mapped[datetime | None]
    seen_to_by: Mapped[str | None]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str | None]
    struck_why: Mapped[str | None]


class GoalRow(Base):
    """A goal as it was agreed; `levels` are five texts, from -2 (much less than hoped) to +2."""

    __tablename__ = "goals"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    device_id: Mapped[int | None] = mapped_column(sa.ForeignKey("devices.id"))
    instead_of_id: Mapped[int | None] = mapped_column(sa.ForeignKey("goals.id"))
    words: Mapped[str]
    voice: Mapped[Voice] = mapped_column(word(Voice))
    weight: Mapped[int]
    levels: Mapped[list[Any]]
    baseline: Mapped[int]
    agreed_on: Mapped[date]
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]
    ended_on: Mapped[date | None]
    ended_why: Mapped[str | None]
    ended_by: Mapped[str | None]


class GoalScoreRow(Base):
    """The level of a goal that was reached by a day, in one voice's judgement."""

    __tablename__ = "goal_scores"
    __table_args__ = (sa.UniqueConstraint("goal_id", "scored_on", "voice"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    goal_id: Mapped[int] = mapped_column(sa.ForeignKey("goals.id"))
    scored_on: Mapped[date]
    voice: Mapped[Voice] = mapped_column(word(Voice))
    level: Mapped[int]
    words: Mapped[str] = mapped_column(default="")
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]


class QuestionnaireScoreRow(Base):
    """The score of a licensed questionnaire that was filled in elsewhere; what it asks is never kept."""

    __tablename__ = "questionnaire_scores"

    id: Mapped[int] = mapped_column(primary_key=True)
    recipient_id: Mapped[int] = mapped_column(sa.ForeignKey("recipients.id"), index=True)
    device_id: Mapped[int | None] = mapped_column(sa.ForeignKey("devices.id"))
    instrument: Mapped[str]
    version: Mapped[str]
    score: Mapped[float]
    scored_on: Mapped[date]
    voice: Mapped[Voice] = mapped_column(word(Voice))
    note: Mapped[str] = mapped_column(default="")
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]
