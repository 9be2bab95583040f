"""Wrong links and wrong months of birth are counted, so that nobody can guess on and on."""

from __future__ import annotations

from datetime import timedelta

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.rules import network_of
from service.family.rules import BIRTH_WINDOW, LINK_WINDOW, MOST_WRONG_BIRTHS, MOST_WRONG_LINKS
from service.family.tables import LinkTryRow
from service.kit.passwords import fingerprint

Counted = tuple[str, int, timedelta]
"""Whose tries are counted (hashed), how many are allowed, and within how long."""


def by_network(host: str) -> Counted:
    """Wrong links from one network."""
    return fingerprint(f"network:{network_of(host)}"), MOST_WRONG_LINKS, LINK_WINDOW


def by_link(key_hash: str) -> Counted:
    """Wrong months of birth at one link."""
    return fingerprint(f"link:{key_hash}"), MOST_WRONG_BIRTHS, BIRTH_WINDOW


def minutes_to_wait(work: Work, counted: Counted) -> int | None:
    """Minutes until another try is allowed, or None for now."""
    who, most, window = counted
    recent = (LinkTryRow.who == who, LinkTryRow.at > work.now - window)
    latest = sa.select(LinkTryRow.at).where(*recent).order_by(LinkTryRow.at.desc()).offset(most - 1).limit(1)
    first = work.session.scalar(latest)
    return None if first is None else max(1, -(-(first + window - work.now) // timedelta(minutes=1)))


def count_try(work: Work, counted: Counted) -> None:
    """Record a wrong try, and drop those that count no more."""
    work.session.execute(sa.delete(LinkTryRow).where(LinkTryRow.at <= work.now - BIRTH_WINDOW))
    work.session.add(LinkTryRow(who=counted[0], at=work.now))
