"""Addresses that carry their own proof: a link that stops an account's mail without signing in."""

from __future__ import annotations

import hmac
from hashlib import sha256

_FOR = b"unsubscribe:"


def unsubscribe_path(secret: bytes, account_id: int) -> str:
    """The path that stops an account's mail; it works as long as the register's secret stands."""
    return f"/unsubscribe/{account_id}.{_proof(secret, account_id)}"


def unsubscribed_account(secret: bytes, token: str) -> int | None:
    """The account an unsubscribe link is for, or None when it is not one of ours."""
    digits, _, proof = token.partition(".")
    if not (digits.isascii() and digits.isdigit()) or len(digits) > 9:
        return None
    fits = hmac.compare_digest(proof.encode(), _proof(secret, int(digits)).encode())
    return int(digits) if fits else None


def _proof(secret: bytes, account_id: int) -> str:
    return hmac.new(secret, _FOR + str(account_id).encode(), sha256).hexdigest()[:40]
