"""What a family gets by mail, as it lies in the folder, and a family to which things are sent."""

from __future__ import annotations

import email
from email.message import EmailMessage
from email.policy import default
from typing import Any

import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.recipients.tables import RecipientRow
from tests.conftest import Register
from tests.devices.worn import made, opened
from tests.family.people import MOTHER
from tests.matching.things import offered, request, version, volunteer


def into_folder(register: Register) -> None:
    """Have mail put into a folder from now on."""
    register.settings = register.settings.model_copy(update={"mail_folder": register.settings.data / "mail"})


def mails(register: Register) -> list[EmailMessage]:
    """Send what is due; all mails so far, by subject."""
    register.run_jobs()
    files = (register.settings.data / "mail").glob("*.eml")
    found = [email.message_from_bytes(file.read_bytes(), policy=default) for file in files]
    return sorted(found, key=lambda mail: str(mail["Subject"]))


def family(coordinator: TestClient, language: str = "en", **contact: Any) -> tuple[str, int]:
    """A case with a mother on record: its number, and hers."""
    number = opened(coordinator, language=language)
    case = made(coordinator, f"recipients/{number}/contacts", {**MOTHER, **contact})
    mother: int = case["contacts"][-1]["id"]
    return number, mother


def send_link(coordinator: TestClient, number: str, mother: int) -> str:
    """Send her a link; returns its address."""
    body = {"contact": mother, "send": True}
    return str(made(coordinator, f"recipients/{number}/family-links", body)["url"])


def somebody_makes_it(register: Register, coordinator: TestClient, number: str) -> int:
    """Something more is asked for in a case, and a volunteer says yes; returns the offer."""
    with register.db.reading() as session:
        recipient = session.scalars(sa.select(RecipientRow.id).where(RecipientRow.case_number == number)).one()
    volunteer(register, "Bo", at_once=9)
    request(register, recipient, version_id=version(register))
    return yes(coordinator)


def yes(coordinator: TestClient) -> int:
    """A volunteer is asked and says yes; returns the offer."""
    (offer,) = offered(coordinator)["offers"]
    assert coordinator.post(f"/api/v1/offers/{offer['id']}/accept", json={}).status_code == 200
    found: int = offer["id"]
    return found
