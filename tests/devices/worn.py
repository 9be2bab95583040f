"""An invented recipient and what she wears, recorded over HTTP."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from fastapi.testclient import TestClient

from tests.conftest import Register

BORN = "2018-05-04"
GIRTH: dict[str, Any] = {"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 190.5}
LENGTH: dict[str, Any] = {"dimension": "residual_limb_length", "tight_at_mm": 120}


def opened(coordinator: TestClient, **changes: Any) -> str:
    """Open a case; returns its case number."""
    person = {
        "given_name": "Ines",
        "family_name": "Okafor",
        "birth_date": BORN,
        "sex": "female",
        "limbs": [{"side": "left", "cause": "congenital", "level": "forearm_upper"}],
    }
    return str(made(coordinator, "recipients", {**person, **changes})["case_number"])


def made(client: TestClient, path: str, body: dict[str, Any]) -> dict[str, Any]:
    """Post something that is taken; returns the answer."""
    answer = client.post(f"/api/v1/{path}", json=body)
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def device(client: TestClient, number: str, **changes: Any) -> int:
    """Record a device; returns its id."""
    found: int = made(client, f"recipients/{number}/devices", {"purpose": "everyday", "side": "left", **changes})["id"]
    return found


def socket(
    client: TestClient,
    number: str,
    of_device: int,
    fitted_on: str = "2026-01-12",
    limits: Sequence[dict[str, Any]] = (GIRTH,),
    **more: Any,
) -> int:
    """Record a fitted socket; returns its id."""
    body = {"fitted_on": fitted_on, "limits": list(limits), **more}
    found: int = made(client, f"recipients/{number}/devices/{of_device}/sockets", body)["id"]
    return found


def count(register: Register, table: type[Any]) -> int:
    """How many rows a table holds."""
    with register.db.reading() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(table)) or 0
