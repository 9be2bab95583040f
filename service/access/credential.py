"""What a request shows of who sent it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Credential:
    """The random text of a session cookie or, under /api, of a bearer token; both may be missing."""

    session: str | None = None
    token: str | None = None
