"""Failed sign-ins are counted, so that nobody can guess on and on. Each try is one row, dropped when its time is up."""

from __future__ import annotations

from collections.abc import Mapping

import sqlalchemy as sa

from service.access.work import Work
from service.accounts.rules import (
    MOST_TRIES_A_NETWORK,
    MOST_TRIES_AN_ADDRESS,
    TRY_WINDOW,
    network_of,
    seconds_to_wait,
)
from service.accounts.tables import SignInTryRow
from service.kit.errors import TooMany
from service.kit.passwords import fingerprint

Counted = Mapping[str, int]
"""Whose tries are counted (hashed), and how many are allowed."""


def by_address(email: str) -> Counted:
    """Tries at one account, or at an address that has none."""
    return {fingerprint(f"address:{email}"): MOST_TRIES_AN_ADDRESS}


def by_network(host: str) -> Counted:
    """Tries from one network, at whatever accounts."""
    return {fingerprint(f"network:{network_of(host)}"): MOST_TRIES_A_NETWORK}


def hold_back(work: Work, counted: Counted) -> None:
    """Raise TooMany when there were too many failed tries; a try that was held back does not count as another."""
    for who, most in counted.items():
        latest = work.session.scalars(
            sa.select(SignInTryRow.at).where(SignInTryRow.who == who).order_by(SignInTryRow.at.desc()).limit(most)
        )
        if wait := seconds_to_wait(list(latest), most, work.now):
            minutes = -(-wait // 60)
            when = "in a minute" if minutes == 1 else f"in {minutes} minutes"
            raise TooMany(
                f"Too many wrong passwords were tried for this address or from this network. Try again {when}, "
                "or ask an administrator for a new password.",
                retry_after=wait,
            )


def count_try(work: Work, counted: Counted) -> None:
    """Record a failed try, and drop those that count no more."""
    work.session.execute(sa.delete(SignInTryRow).where(SignInTryRow.at <= work.now - TRY_WINDOW))
    work.session.add_all(SignInTryRow(who=who, at=work.now) for who in counted)


def forget_tries(work: Work, email: str) -> None:
    """The right password was given, or a new one set: what failed before says nothing more about this account."""
    work.session.execute(sa.delete(SignInTryRow).where(SignInTryRow.who.in_(by_address(email))))
