"""Passwords are kept as argon2 hashes, random texts (of sessions and tokens) as SHA-256: neither can be read back.

A random text has 256 bits nobody can guess, so a fast hash serves it; a password has few, so its hash must be slow.
"""

from __future__ import annotations

import hashlib
import secrets
import unicodedata
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

_HASHER = PasswordHasher()


def password_hash(password: str) -> str:
    """The hash to keep; it carries its own salt and parameters."""
    return _HASHER.hash(_same_everywhere(password))


def is_password(password: str, kept: str | None) -> bool:
    """Whether a password is the one that was kept.

    With nothing kept (no such account) the same work is done before the answer no, so that the time it takes does
    not tell which addresses have an account.
    """
    try:
        _HASHER.verify(kept or _nobodys_hash(), _same_everywhere(password))
    except (VerificationError, InvalidHashError):
        return False
    return kept is not None


def is_outdated(kept: str) -> bool:
    """Whether a hash was made with other parameters than today's, and should be made anew."""
    return _HASHER.check_needs_rehash(kept)


def random_text() -> str:
    """A fresh secret of 256 bits, safe in a cookie and a header."""
    return secrets.token_urlsafe(32)


def fingerprint(text: str) -> str:
    """The SHA-256 of a text, in hex."""
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _nobodys_hash() -> str:
    return _HASHER.hash(random_text())


def _same_everywhere(password: str) -> str:
    # Keyboards write é as one character or as two, and pasting adds a blank: the person meant the same password.
    return unicodedata.normalize("NFKC", password.strip())
