"""A family that comes by its link, as a browser does."""

from __future__ import annotations

import re
from typing import Any

from fastapi.testclient import TestClient

from tests.accounts.people import AT_HOME
from tests.conftest import Register
from tests.devices.worn import made

MOTHER: dict[str, Any] = {
    "name": "Ada Okafor",
    "relation": "mother",
    "responsibility": "yes",
    "reach_by": "mail",
    "email": "ada@example.org",
}
BORN = {"month": "5", "year": "2018"}  # as tests.devices.worn has it


def link(coordinator: TestClient, number: str, **body: Any) -> str:
    """Make a link; returns the path of its first page."""
    url: str = made(coordinator, f"recipients/{number}/family-links", body)["url"]
    return "/family/" + url.rpartition("/")[2]


def send(browser: TestClient, page: str, fields: dict[str, str], opened: str | None = None) -> Any:
    """Open a family page, fill in its form and send it."""
    token = re.search(r'name="form_token" value="([0-9a-f]+)"', browser.get(opened or page).text)
    assert token
    return browser.post(page, data={"form_token": token[1], **fields}, headers=AT_HOME)


def let_in(register: Register, home: str, born: dict[str, str] = BORN) -> TestClient:
    """A browser that gave the month and year of birth."""
    browser = register.browser()
    answer = send(browser, home, born)
    assert answer.status_code == 303, answer.text
    return browser
