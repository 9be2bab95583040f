"""Addresses that carry their own proof: a link that stops somebody's mail without signing in."""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from hashlib import sha256

_FOR = b"unsubscribe:"
_MAILBOX = "m"
_HASH_LENGTH = 40


@dataclass(frozen=True)
class Reader:
    """Whose mail a link stops: an account's, or without one that of a mailbox, named by a hash of its address."""

    account_id: int | None = None
    mailbox: str = ""

    @property
    def name(self) -> str:
        """As the link names them."""
        return str(self.account_id) if self.account_id is not None else _MAILBOX + self.mailbox


def mailbox(address: str) -> str:
    """An address as a hash: a wish is kept without it, and is still known when the person is written to again."""
    return sha256(address.strip().lower().encode()).hexdigest()[:_HASH_LENGTH]


def unsubscribe_path(secret: bytes, reader: Reader) -> str:
    """The path that stops somebody's mail; it works as long as the register's secret stands."""
    return f"/unsubscribe/{reader.name}.{_proof(secret, reader.name)}"


def unsubscribed(secret: bytes, token: str) -> Reader | None:
    """Whose mail an unsubscribe link stops, or None when it is not one of ours."""
    name, _, proof = token.partition(".")
    if not name.isascii() or not hmac.compare_digest(proof.encode(), _proof(secret, name).encode()):
        return None
    return Reader(mailbox=name[1:]) if name.startswith(_MAILBOX) else Reader(account_id=int(name))


def _proof(secret: bytes, name: str) -> str:
    return hmac.new(secret, _FOR + name.encode(), sha256).hexdigest()[:40]
