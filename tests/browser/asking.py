"""What the demo's story does not reach yet, put in so that its pages can be looked at."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx2 as httpx
import sqlalchemy as sa

from service import demo
from service.access.permissions import Role
from service.accounts.tables import AccountRow
from service.kit.passwords import fingerprint
from service.matching.tables import OfferRow
from service.notifications.links import unsubscribe_path
from service.notifications.rules import Channel
from service.notifications.tables import MessageRow
from service.recipients.tables import RecipientRow
from tests.browser.conftest import SECRET, Served

LINK = "a-link-for-every-page"


def asked(served: Served, client: httpx.Client, case: dict[str, Any]) -> dict[str, Any]:
    """A town, a volunteer with an account, a request, a plan, an offer and a message, by their names in addresses."""

    def made(path: str, body: dict[str, Any]) -> dict[str, Any]:
        answer = client.post(f"/api/v1/{path}", json=body)
        assert answer.status_code == 201, answer.text
        return dict(answer.json())

    email = next(each.email for each in demo.PEOPLE if each.role is Role.VOLUNTEER)
    with served.db.reading() as session:
        account = session.scalars(sa.select(AccountRow.id).where(AccountRow.email == email)).one()
        whose = sa.select(RecipientRow.site_id).where(RecipientRow.case_number == case["case_number"])
        site = session.scalars(whose).one()
    town = made("towns", {"name": "Cod Row", "latitude": 52.1, "longitude": 4.3})["id"]
    person = {"name": "Teun Harkema", "site": demo.SITES[0].code, "account": account, "town": town}
    volunteer = made("volunteers", person)["id"]
    printer = {"name": "Kitchen printer", "width_mm": 210, "depth_mm": 200, "height_mm": 190, "materials": ["PETG"]}
    made(f"volunteers/{volunteer}/printers", printer)
    broke = {"place": case["place"], "happened": "broken"}
    request = made("requests", {"case_number": case["case_number"], "kind": "replacement", "parts": [broke]})["id"]
    plan = made("plans", {"site": demo.SITES[0].code})["id"]
    now = datetime.now(UTC)
    with served.db.writing() as session:
        offer = OfferRow(
            request_id=request,
            volunteer_id=volunteer,
            token_hash=fingerprint(LINK),
            why="Nearest of those who have the time.",
            deadline=now.date() + timedelta(days=9),
            hours=3.0,
            offered_at=now,
            offered_by="Bryony Sedge",
            lapses_at=now + timedelta(days=2),
        )
        message = MessageRow(
            key="for every page",
            site_id=site,
            channel=Channel.CALL,
            to_name="A contact",
            to_address="0100 555 0100",
            subject="The part is on its way",
            body="Ring and say that the part was posted.",
            due_at=now,
            written_at=now,
        )
        session.add_all([offer, message])
        session.flush()
        kept = {"offer": offer.id, "message": message.id}
    stop = unsubscribe_path(SECRET.encode(), account).removeprefix("/unsubscribe/")
    found = {"town": town, "volunteer": volunteer, "request_id": request, "plan": plan, "act": "triage"}
    return {**found, **kept, "unsubscribe": stop}
