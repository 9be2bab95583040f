"""People who sign in through the pages, as a browser does."""

from __future__ import annotations

import re
from typing import Any

from fastapi.testclient import TestClient

from service.access.actor import SYSTEM
from service.access.permissions import Role
from service.access.work import Work
from service.accounts import actions
from service.accounts.schemas import AddAccount
from tests.conftest import Register

EMAIL = "ines.duarte@example.org"
PASSWORD = "four tame herons wade"
OTHER_PASSWORD = "seven slow barges moor"
AT_HOME = {"Origin": "http://testserver", "Sec-Fetch-Site": "same-origin"}


def open_account(
    register: Register, *roles: Role, email: str = EMAIL, name: str = "Ines Duarte", site: str = "harbour"
) -> int:
    """An account with a real password, made by the action itself."""
    command = AddAccount(email=email, name=name, roles=roles or [Role.VOLUNTEER], sites=[site], password=PASSWORD)
    with register.db.writing() as session:
        return actions.add_account(Work(session, SYSTEM, register.clock()), command).id


def form_token(page: Any) -> str:
    """The token in a page's forms."""
    found = re.search(r'name="form_token" value="([0-9a-f]+)"', page.text)
    assert found, page.text
    return found[1]


def post(browser: TestClient, path: str, fields: dict[str, str], *, opened: str | None = None) -> Any:
    """Open a page, fill in its form and send it."""
    token = form_token(browser.get(opened or path))
    return browser.post(path, data={"form_token": token, **fields}, headers=AT_HOME)


def sign_in(browser: TestClient, email: str = EMAIL, password: str = PASSWORD, *, onward: str | None = None) -> Any:
    """Sign in with an address and a password."""
    fields = {"email": email, "password": password} | ({"next": onward} if onward else {})
    return post(browser, "/sign-in", fields)


def signed_in(register: Register, email: str = EMAIL, password: str = PASSWORD) -> TestClient:
    """A browser in which somebody has signed in."""
    browser = register.browser()
    assert sign_in(browser, email, password).status_code == 303
    return browser
