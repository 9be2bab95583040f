"""What asking and answering left in the demo, by its names in addresses; and what only a visitor would do."""

from __future__ import annotations

from typing import Any

import httpx2 as httpx
import sqlalchemy as sa

from service import demo
from service.access.permissions import Role
from service.accounts.tables import AccountRow, TownRow
from service.kit.passwords import fingerprint
from service.matching.rules import OfferState
from service.matching.tables import OfferRow, PlanRow
from service.notifications.links import Reader, unsubscribe_path
from service.notifications.rules import Channel
from service.notifications.tables import MessageRow
from service.volunteers.tables import VolunteerRow
from tests.browser.conftest import SECRET, Served
from tests.pictures.taken import encoded, scene

LINK = "a-link-for-every-page"


def asked(served: Served, client: httpx.Client, case: dict[str, Any]) -> dict[str, Any]:
    """A town, a volunteer, a request with photograph and build, today's plan, an offer by its link, and a call."""
    broke = {"case_number": case["case_number"], "kind": "replacement", "parts": [{"place": case["place"]}]}
    answer = client.post("/api/v1/requests", json=broke)
    assert answer.status_code == 201, answer.text
    request = answer.json()["id"]
    photo = {"photo": ("photo.jpg", encoded(scene(), "JPEG"), "image/jpeg")}
    assert client.post(f"/api/v1/requests/{request}/photos", files=photo).status_code == 201
    build = client.post("/api/v1/builds", json={"request": request})
    assert build.status_code == 201, build.text
    email = next(each.email for each in demo.PEOPLE if each.role is Role.VOLUNTEER)
    with served.db.writing() as session:
        account = session.scalars(sa.select(AccountRow.id).where(AccountRow.email == email)).one()
        mine = sa.select(VolunteerRow.id).where(VolunteerRow.account_id == account)
        call = sa.select(MessageRow.id).where(MessageRow.channel == Channel.CALL).limit(1)
        waits = sa.select(sa.func.min(OfferRow.id)).where(OfferRow.state == OfferState.WAITING)
        offer = session.scalars(waits).one()
        session.execute(sa.update(OfferRow).where(OfferRow.id == offer).values(token_hash=fingerprint(LINK)))
        found = {
            "town": session.scalars(sa.select(TownRow.id).limit(1)).one(),
            "volunteer": session.scalars(mine).one(),
            "plan": session.scalars(sa.select(sa.func.max(PlanRow.id))).one(),
            "message": session.scalars(call).one(),
        }
    stop = unsubscribe_path(SECRET.encode(), Reader(account)).removeprefix("/unsubscribe/")
    return {
        **found,
        "request_id": request,
        "offer": offer,
        "act": "triage",
        "unsubscribe": stop,
        "build_id": build.json()["id"],
        "kind": "bench",
    }
