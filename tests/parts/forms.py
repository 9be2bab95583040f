"""Forms with files in them, filled in and sent as a browser does."""

from __future__ import annotations

import re
from typing import Any

from fastapi.testclient import TestClient

from tests.accounts.people import AT_HOME, form_token

FORM = {"unit": "mm", "materials": "PETG, TPU 95A", "print_settings.nozzle_mm": "0,6", "print_settings.infill": "15"}


def upload(
    browser: TestClient, path: str, fields: dict[str, str], content: bytes | None = None, name: str = "part.stl"
) -> Any:
    """Open a form, fill it in with or without a file, and send it as a browser does."""
    token = form_token(browser.get(path))
    empty = ("", b"") if content is None else (name, content)
    return browser.post(path, data={"form_token": token, **fields}, files={"file": empty}, headers=AT_HOME)


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    return found[1] if found else ""


def item(client: TestClient, path: str) -> dict[str, Any]:
    answer = client.get(f"/api/v1/{path}")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found
