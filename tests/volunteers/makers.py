"""Invented volunteers, recorded over HTTP."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.accounts.tables import SiteRow, TownRow
from tests.conftest import Register

VOLUNTEERS = "/api/v1/volunteers"
PRINTER: dict[str, Any] = {
    "name": "Kitchen printer",
    "width_mm": 210,
    "depth_mm": 200,
    "height_mm": 190,
    "materials": ["PETG"],
}


def volunteer(client: TestClient, name: str = "Joost Adeyemi", **given: Any) -> dict[str, Any]:
    """Record a volunteer who is taken; returns them."""
    answer = client.post(VOLUNTEERS, json={"name": name, **given})
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def town(register: Register, name: str, north: float, east: float, *, of_site: str | None = None) -> int:
    """A town, and if wanted the one in which a site lies."""
    with register.db.writing() as session:
        row = TownRow(name=name, latitude=north, longitude=east)
        session.add(row)
        session.flush()
        if of_site is not None:
            session.execute(sa.update(SiteRow).where(SiteRow.code == of_site).values(town_id=row.id))
        return row.id
