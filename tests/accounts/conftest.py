"""Hashing made cheap: these tests sign in hundreds of times, and what a hash costs is not what they are about."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from argon2 import PasswordHasher

from service.kit import passwords


@pytest.fixture(autouse=True)
def _cheap_hashes(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(passwords, "_HASHER", PasswordHasher(time_cost=2, memory_cost=128, parallelism=1))
    passwords._nobodys_hash.cache_clear()
    yield
    passwords._nobodys_hash.cache_clear()
