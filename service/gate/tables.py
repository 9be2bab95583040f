"""Rows of checks and their findings, clinicians' acceptances, and what a site's trustees recorded."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.gate.blocks import BlockCode
from service.gate.checklists import CheckKind, Result
from service.gate.site_rules import SiteRule
from service.kit.db import Base, word


class CheckRow(Base):
    """A signed check of a build. Nothing alters it: what is found later is another check."""

    __tablename__ = "checks"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"), index=True)
    kind: Mapped[CheckKind] = mapped_column(word(CheckKind))
    round: Mapped[int]
    passed: Mapped[bool]
    remarks: Mapped[str] = mapped_column(default="")
    checked_on: Mapped[date]
    signed_at: Mapped[datetime]
    signed_by: Mapped[str]
    by_account_id: Mapped[int | None] = mapped_column(sa.ForeignKey("accounts.id"))


class FindingRow(Base):
    """What was found; `limit_words` is the limit as it was that day, with its source."""

    __tablename__ = "findings"

    check_id: Mapped[int] = mapped_column(sa.ForeignKey("checks.id"), primary_key=True)
    item: Mapped[str] = mapped_column(primary_key=True)
    result: Mapped[Result] = mapped_column(word(Result))
    value: Mapped[float | None]
    limit_words: Mapped[str] = mapped_column(default="")
    why: Mapped[str] = mapped_column(default="")


class AcceptanceRow(Base):
    """A clinician's written word that one block of one build is accepted.

    `about` holds the sentences that stood there: what is altered afterwards is not accepted by it.
    """

    __tablename__ = "acceptances"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(sa.ForeignKey("builds.id"), index=True)
    about: Mapped[list[Any]]
    code: Mapped[BlockCode] = mapped_column(word(BlockCode))
    words: Mapped[str]
    accepted_at: Mapped[datetime]
    accepted_by: Mapped[str]


class SiteRuleRow(Base):
    """What the trustees of a site recorded, with a name under it; ended, never removed."""

    __tablename__ = "site_rules"
    __table_args__ = (
        sa.Index(
            "uq_site_rules_site_rule_standing",
            "site_id",
            "rule",
            unique=True,
            sqlite_where=sa.text("ended_on IS NULL"),
            postgresql_where=sa.text("ended_on IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"))
    rule: Mapped[SiteRule] = mapped_column(word(SiteRule))
    words: Mapped[str]
    trustee: Mapped[str]
    decided_on: Mapped[date]
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]
    ended_on: Mapped[date | None]
    ended_by: Mapped[str | None]


class CheckLimitRow(Base):
    """A site's own limit of a measured finding, with where it is from."""

    __tablename__ = "check_limits"

    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"), primary_key=True)
    item: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[float]
    source: Mapped[str]
    set_at: Mapped[datetime]
    set_by: Mapped[str]
