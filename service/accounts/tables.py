"""Rows of sites, accounts, sessions, tokens and sign-in attempts."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from service.access.permissions import Role
from service.kit.db import Base, word


class SiteRow(Base):
    """A branch or partner clinic.

    `lead_days` is how long making and delivering a socket takes there, `tight_risk` (0-1) the chance accepted that one
    is tight before the next arrives, `replacement_days` what is promised for a part that broke.
    """

    __tablename__ = "sites"

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    lead_days: Mapped[int] = mapped_column(default=28)
    tight_risk: Mapped[float] = mapped_column(default=0.1, server_default=sa.text("0.1"))
    replacement_days: Mapped[int] = mapped_column(default=7, server_default=sa.text("7"))
    town_id: Mapped[int | None] = mapped_column(sa.ForeignKey("towns.id"))
    note: Mapped[str] = mapped_column(default="")


class TownRow(Base):
    """A town or postcode district the charity serves, entered once: degrees north and east."""

    __tablename__ = "towns"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    latitude: Mapped[float]
    longitude: Mapped[float]


class AccountRow(Base):
    """A person who can sign in; `email` is kept in lower case."""

    __tablename__ = "accounts"

    id: Mapped[int] = mapped_column(primary_key=True)
    email: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    password_hash: Mapped[str]
    created_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]


class AccountRoleRow(Base):
    """A role an account holds."""

    __tablename__ = "account_roles"

    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), primary_key=True)
    role: Mapped[Role] = mapped_column(word(Role), primary_key=True)


class AccountSiteRow(Base):
    """A site an account belongs to."""

    __tablename__ = "account_sites"

    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), primary_key=True)
    site_id: Mapped[int] = mapped_column(sa.ForeignKey("sites.id"), primary_key=True)


class SessionRow(Base):
    """A signed-in browser; the cookie's random text is kept only as its SHA-256."""

    __tablename__ = "sessions"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), index=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    browser: Mapped[str]
    created_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class TokenRow(Base):
    """An API token with a name and an end; it acts with its owner's roles, or with the one it is narrowed to."""

    __tablename__ = "api_tokens"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(sa.ForeignKey("accounts.id"), index=True)
    name: Mapped[str]
    role: Mapped[Role | None] = mapped_column(word(Role))
    token_hash: Mapped[str] = mapped_column(unique=True)
    created_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class SignInTryRow(Base):
    """A failed sign-in, kept for throttling; address and network are hashed."""

    __tablename__ = "sign_in_tries"
    __table_args__ = (sa.Index("ix_sign_in_tries_who_at", "who", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    who: Mapped[str]
    at: Mapped[datetime]
