"""A coordinator with a token, the same in a browser, and a design without a version."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.parts.made import design

EMAIL = "coordinator@example.org"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


@pytest.fixture
def index(coordinator: TestClient) -> int:
    return design(coordinator)
