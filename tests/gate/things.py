"""A register in which something is made: a case that may have a device, who makes it, and who checks it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.recipients.tables import HelperRow, RecipientRow
from service.volunteers.tables import PrinterRow
from tests.assembly.things import finger, lot, put
from tests.conftest import Register
from tests.devices.worn import device, made, opened
from tests.matching.things import volunteer

PRESCRIPTION = {
    "prescriber_name": "Dr Noor Brandt",
    "prescriber_profession": "orthopaedic surgeon",
    "prescriber_registration": "4711",
    "prescribed_on": "2026-02-01",
}


@dataclass
class Workshop:
    """Who is there, and what there is: a girl with a hand whose index finger is to be made anew."""

    register: Register
    coordinator: TestClient
    clinician: TestClient
    maker: TestClient
    checker: TestClient
    volunteer: int
    printer: int
    number: str
    device: int
    place: int
    version: int
    spool: int

    def build(self, build_id: int) -> dict[str, Any]:
        """A build as the coordinator sees it."""
        found: dict[str, Any] = self.coordinator.get(f"/api/v1/builds/{build_id}").json()
        return found

    def state(self, build_id: int) -> str:
        """How far a build is."""
        return str(self.build(build_id)["state"])

    def blocks(self, build_id: int) -> set[str]:
        """The codes of what stands in its way."""
        answer = self.coordinator.get(f"/api/v1/builds/{build_id}/blocks")
        assert answer.status_code == 200, answer.text
        return {each["code"] for each in answer.json()["items"]}

    def move(self, build_id: int, to: str, *, by: TestClient | None = None, **more: Any) -> Any:
        """Move a build; returns the response."""
        return (by or self.maker).post(f"/api/v1/builds/{build_id}/moves", json={"to": to, **more})

    def opened(self, **more: Any) -> int:
        """A build for the broken finger; returns its id."""
        asked = made(
            self.coordinator,
            "requests",
            {"case_number": self.number, "kind": "replacement", "parts": [{"place": self.place}], "words": "snapped"},
        )
        body = {"request": asked["id"], "volunteer": self.volunteer, **more}
        return int(made(self.coordinator, "builds", body)["id"])

    def printed(self, build_id: int, **more: Any) -> Any:
        """Log a print of each item that is not out yet; returns the last response."""
        answer = None
        for item in self.build(build_id)["items"]:
            if item["version"]:
                body = {"item": item["id"], "lots": [{"lot": self.spool}], "hours": 0.5, "grams": 6, **more}
                answer = self.maker.post(f"/api/v1/builds/{build_id}/prints", json=body)
                assert answer.status_code == 201, answer.text
        return answer

    def checked(self, build_id: int, *, by: TestClient | None = None, kind: str = "bench", **results: Any) -> Any:
        """Sign a check in which all is in order but what is said otherwise; returns the response."""
        client = by or self.checker
        asked = client.get(f"/api/v1/builds/{build_id}/checks").json()["asked"][kind]
        findings = [{"item": each["item"], "result": "pass", **results.get(each["item"], {})} for each in asked]
        return client.post(f"/api/v1/builds/{build_id}/checks", json={"kind": kind, "findings": findings})

    def made(self, build_id: int) -> int:
        """Make a build until it waits for its bench check."""
        assert self.move(build_id, "making").status_code == 200
        self.printed(build_id)
        answer = self.move(build_id, "made")
        assert answer.status_code == 200, answer.text
        return build_id

    def cleared(self, build_id: int) -> int:
        """Make it and have it checked by somebody else."""
        answer = self.checked(self.made(build_id))
        assert answer.status_code == 201, answer.text
        assert self.state(build_id) == "cleared"
        return build_id

    def delivered(self, build_id: int) -> int:
        """Make, check and deliver it."""
        answer = self.maker.post(f"/api/v1/builds/{self.cleared(build_id)}/delivered", json={"to": "the mother"})
        assert answer.status_code == 201, answer.text
        return build_id

    def fit(self, build_id: int, *, by: TestClient | None = None, **more: Any) -> Any:
        """Fit it; returns the response."""
        return (by or self.coordinator).post(f"/api/v1/builds/{build_id}/fitted", json=fitting(self, **more))


def fitting(workshop: Workshop, **more: Any) -> dict[str, Any]:
    """A fitting in which all is well, in place of the finger that broke."""
    checks = {"on_and_off": "pass", "gaping": "pass", "movement": "pass", "skin": "pass", "worn_minutes": 20}
    worn = workshop.coordinator.get(f"/api/v1/recipients/{workshop.number}/parts-in-place").json()["items"]
    parts = [each for held in worn for each in held["parts"] if each["place"] == workshop.place]
    return {
        "came_off": [{"part": each["part"], "why": "broken"} for each in parts],
        "checks": {**checks, **more.pop("checks", {})},
        "cautions_acknowledged_by": "the mother",
        **more,
    }


def consent(client: TestClient, number: str, *purposes: str, kind: str = "consent") -> list[int]:
    """Record a yes to each purpose; returns the ids."""
    ids = []
    for purpose in purposes:
        given = {"kind": kind, "purpose": purpose, "given_by": "Ana Okafor", "given_on": "2026-02-01"}
        answer = made(client, f"recipients/{number}/consents", given)
        ids.append(answer["consents"][-1]["id"])
    return ids


def agreed_case(client: TestClient, **changes: Any) -> str:
    """A case in which nothing is missing; returns its number."""
    number = opened(client, **{"latex_allergy": False, **PRESCRIPTION, **changes})
    consent(client, number, "records", "device")
    consent(client, number, "device", kind="assent")
    return number


def helps(register: Register, number: str, account: int) -> None:
    """Ask somebody to help with a case."""
    with register.db.writing() as session:
        whose = session.scalars(sa.select(RecipientRow.id).where(RecipientRow.case_number == number)).one()
        session.add(HelperRow(recipient_id=whose, account_id=account, since=register.clock().date(), until=None))


def workshop(register: Register, *, features: Any = (), latex: Any = True, **person: Any) -> Workshop:
    """A register with a case whose index finger is to be made anew, a maker and somebody to check.

    `latex` False: the spool is known to hold some, as no real one does.
    """
    coordinator = register.api(Role.COORDINATOR)
    account = register.account(Role.VOLUNTEER, name="Bo")
    by = volunteer(register, "Bo", account=account)
    with register.db.reading() as session:
        printer = session.scalars(sa.select(PrinterRow.id).where(PrinterRow.volunteer_id == by)).one()
    number = agreed_case(coordinator, **person)
    of_device = device(coordinator, number)
    version = finger(
        register, digit="index", checks=["sharp_edges", "layers", "line_pull", "label"], features=list(features)
    )
    spool = lot(coordinator, latex_free=latex)
    there = put(coordinator, number, of_device, on="2026-02-20", version=version, digit="index", lots=[spool])
    return Workshop(
        register=register,
        coordinator=coordinator,
        clinician=register.api(Role.CLINICIAN),
        maker=register.api(account=account),
        checker=register.api(account=register.account(Role.VOLUNTEER, name="Cy")),
        volunteer=by,
        printer=printer,
        number=number,
        device=of_device,
        place=there["place"],
        version=version,
        spool=spool,
    )
