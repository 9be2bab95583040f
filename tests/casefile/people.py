"""Invented cases to look at: opened over HTTP, with forecasts whose figures a test chooses."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.devices.tables import DeviceRow, SocketRow
from service.growth.tables import ForecastRow
from service.kit.jobs import JobRow, JobState
from tests.conftest import Register

COMPLETE: dict[str, Any] = {
    "given_name": "Ines",
    "family_name": "Okafor",
    "birth_date": "2018-05-04",
    "sex": "female",
    "limbs": [{"side": "left", "cause": "congenital", "level": "forearm_upper"}],
    "contacts": [{"name": "Ada Okafor", "responsibility": "yes", "reach_by": "text", "phone": "01632 960001"}],
    "consents": [
        {"purpose": "records", "given_by": "Ada Okafor", "given_on": "2026-01-05"},
        {"purpose": "device", "given_by": "Ada Okafor", "given_on": "2026-01-05"},
        {"kind": "assent", "purpose": "device", "given_by": "Ines", "given_on": "2026-01-05"},
    ],
    "latex_allergy": False,
    "prescriber_name": "Dr Tamsin Vale",
}


def opened(coordinator: TestClient, clinician: TestClient | None = None, **changes: Any) -> str:
    """Open a case; with a clinician's suitability note it lacks nothing. Returns the case number."""
    answer = coordinator.post("/api/v1/recipients", json={**COMPLETE, **changes})
    assert answer.status_code == 201, answer.text
    number: str = answer.json()["case_number"]
    if clinician is not None:
        note = {"verdict": "suitable", "noted_by": "Dr Tamsin Vale", "noted_on": "2026-01-06"}
        assert clinician.post(f"/api/v1/recipients/{number}/suitability", json=note).status_code == 201
    return number


def measured(client: TestClient, number: str, taken_on: str, girth: float, level_mm: float = 60) -> dict[str, Any]:
    """Record a session with one girth of the left residual limb, in mm."""
    reading = {
        "dimension": "residual_limb_girth",
        "side": "left",
        "level_mm": level_mm,
        "values": [girth],
        "unit": "mm",
    }
    body = {"taken_on": taken_on, "method": "tape", "readings": [reading], "confirmed": True}
    answer = client.post(f"/api/v1/recipients/{number}/measurements", json=body)
    assert answer.status_code == 201, answer.text
    session: dict[str, Any] = answer.json()
    return session


def fitted(client: TestClient, number: str, fitted_on: str = "2026-01-12", tight_at: float = 190, **device: Any) -> int:
    """Record a device with a socket in place; returns the socket's id."""
    made = client.post(f"/api/v1/recipients/{number}/devices", json={"purpose": "everyday", "side": "left", **device})
    assert made.status_code == 201, made.text
    limit = {"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": tight_at}
    socket = client.post(
        f"/api/v1/recipients/{number}/devices/{made.json()['id']}/sockets",
        json={"fitted_on": fitted_on, "limits": [limit]},
    )
    assert socket.status_code == 201, socket.text
    found: int = socket.json()["id"]
    return found


def foreseen(
    register: Register,
    socket: int,
    *,
    p10: date | None,
    p50: date | None = None,
    p90: date | None = None,
    already: float = 0.0,
    start_by: date | None = None,
    start_why: str = "Making takes about 28 days.",
    measure_by: date | None = None,
    measure_why: str = "",
) -> None:
    """Store a forecast with these figures as the newest of a socket, and nothing left to work out."""
    with register.db.writing() as session:
        session.execute(sa.update(JobRow).values(state=JobState.DONE))
        device, recipient = session.execute(
            sa.select(DeviceRow.id, DeviceRow.recipient_id)
            .join(SocketRow, SocketRow.device_id == DeviceRow.id)
            .where(SocketRow.id == socket)
        ).one()
        session.add(
            ForecastRow(
                recipient_id=recipient,
                device_id=device,
                socket_id=socket,
                is_newest=True,
                as_of=register.clock().date(),
                computed_at=register.clock(),
                model="figures chosen by a test",
                inputs_hash="",
                p10=p10,
                p50=p50,
                p90=p90,
                start_by=start_by,
                measure_by=measure_by,
                already=already,
                limiting_dimension=None,
                answer={
                    "due": {"p10": _iso(p10), "p50": _iso(p50), "p90": _iso(p90)},
                    "already": already,
                    "start_why": start_why,
                    "measure_why": measure_why,
                    "within": {"30": already, "90": already, "180": 0.5, "365": 0.9},
                    "limiting": {"dimension": "residual_limb_girth", "level_mm": 60, "probability": 0.8},
                    "curve": [],
                    "warnings": [],
                },
                explanation="",
            )
        )


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
