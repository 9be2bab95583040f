"""What each role may do is written down, and the guard on each use case does what is written."""

from __future__ import annotations

import importlib
from datetime import UTC, datetime
from typing import cast

import pytest
from sqlalchemy.orm import Session

from service.access import policy
from service.access.actor import NOBODY, SYSTEM, Actor
from service.access.permissions import May, Role
from service.access.usecase import USE_CASES
from service.access.work import Work
from service.kit.errors import Forbidden, Refusal, Unauthenticated
from tests.access.matrix import FILE, load_use_cases, matrix

load_use_cases()
ACTORS = {
    **{role: Actor(role.label, frozenset({role}), account_id=1) for role in Role},
    Role.NOBODY: NOBODY,
    Role.SYSTEM: SYSTEM,
}


def refusal(use_case: str, actor: Actor) -> type[Refusal] | None:
    """What the guard answers, None when it let the call through, which then fails: there is no database behind it."""
    module, _, name = use_case.rpartition(".")
    work = Work(cast("Session", None), actor, datetime(2026, 3, 2, tzinfo=UTC))
    try:
        getattr(importlib.import_module(module), name)(work)
    except Refusal as refused:
        return type(refused)
    except Exception:  # noqa: BLE001 whatever happens behind the guard is not its answer
        return None
    return None


def test_the_table_is_the_one_that_was_agreed():
    assert matrix() == FILE.read_text(), "permissions changed: see the first lines of tests/access/permissions.txt"


def test_a_changed_policy_is_noticed(monkeypatch):
    some = next(iter(USE_CASES.values()))
    monkeypatch.setitem(policy.POLICY, some, policy.POLICY[some] ^ {Role.TRUSTEE})
    assert matrix() != FILE.read_text()


@pytest.mark.parametrize("use_case", sorted(USE_CASES))
def test_the_guard_does_what_the_table_says(use_case):
    for role, actor in ACTORS.items():
        expected = None
        if not policy.allows(frozenset({role}), USE_CASES[use_case]):
            expected = Forbidden if actor.is_person else Unauthenticated
        assert refusal(use_case, actor) == expected, role


def test_everything_that_may_be_done_is_decided_and_asked_for():
    assert set(policy.POLICY) == set(May)
    assert set(USE_CASES.values()) == set(May), "a permission that no use case asks for says nothing"


def test_several_roles_add_up():
    both = Actor("both", frozenset({Role.TRUSTEE, Role.VOLUNTEER}))
    for may in May:
        assert both.can(may) == (ACTORS[Role.TRUSTEE].can(may) or ACTORS[Role.VOLUNTEER].can(may))
