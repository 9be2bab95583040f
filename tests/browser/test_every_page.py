"""Every page at every width, in light and in dark: nothing runs off the side, and nobody is kept out."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from typing import Any

import httpx2 as httpx
import pytest
import sqlalchemy as sa

from service import demo
from service.access.actor import SYSTEM
from service.access.permissions import Role
from service.access.work import Work
from service.accounts.tables import AccountRow, SiteRow, TokenRow
from service.app import PAGES
from service.assembly.tables import PlaceRow
from service.devices.rules import Use
from service.devices.tables import DeviceRow, SocketRow, SockReportRow
from service.figures.actions import keep_sheet
from service.lots.tables import LotRow
from service.measurements.tables import MeasurementRow, ReadingRow
from service.recipients.rules import CaseState
from service.recipients.tables import RecipientRow
from service.safety.tables import ConcernRow, IncidentRow, ReviewTaskRow
from tests.browser.asking import LINK, asked
from tests.browser.conftest import Served
from tests.figures import sheets
from tests.parts.made import drafts

pytestmark = pytest.mark.browser

WIDTHS = (320, 360, 1280)
SCHEMES = ("light", "dark")
LOOKED_AT_CLOSELY = ((320, "light"), (1280, "dark"))

ADMINISTRATORS = {"/accounts", "/accounts/new", "/accounts/{account_id}", "/new-site", "/sites/{code}"}
LEADS = {"/concerns", "/concerns/{concern}"}
VOLUNTEERS = {"/volunteering"}
NO_PAGES = ("/photos/{photo}", ".ics", ".pdf", ".zip")
FAMILIES = "/family/"
"""Pages behind a family's link are looked at in `test_family.py`."""
ROUTES = [
    route.path
    for pages in PAGES
    for route in pages.router.routes
    if "GET" in route.methods and not route.path.startswith(FAMILIES) and not route.path.endswith(NO_PAGES)
]
OF_A_SOCKET = (
    "/recipients/{case_number}/socket-versions/{version}",
    "/recipients/{case_number}/shapes/{shape}/versions/",
)
"""Addresses whose version is private to the case; elsewhere it is the draft of a design."""
MORE = [
    "/parts?q=nothing",
    "/parts/versions/{version}?scale_across=0.9&scale_along=9",
    "/parts/versions/{socket_version}",
    "/work-list?kind=measurement_overdue",
    "/work-list?kind=missing&side=left",
    "/work-list?kind=review",
    "/work-list?q=nobody",
    "/recipients?q=nobody",
    "/recipients/{bare}",
    "/recipients/{paused}",
    "/recipients/{case_number}?before=2000-01-01",
    "/recipients/{case_number}/parts?on=2020-01-01",
    "/recipients/{bare}/parts",
    "/recipients/{case_number}/devices/{device}/parts/new?how=bought",
    "/lots/{lot}/worn?ever=true",
    "/lots?q=nothing",
    "/builds?state=dropped",
    "/builds/{build_id}/check/follow_up",
    "/outcomes/reports/{hidden}",
    "/nowhere",
]


@pytest.fixture(scope="module")
def names(served: Served) -> dict[str, Any]:
    """What addresses name: a case that has everything, one without a device, one that is paused."""
    full = (
        sa.select(
            RecipientRow.case_number,
            DeviceRow.id.label("device"),
            SocketRow.id.label("socket"),
            MeasurementRow.id.label("measurement"),
            ReadingRow.id.label("reading"),
            SockReportRow.id.label("report"),
            PlaceRow.id.label("place"),
        )
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .join(SocketRow, SocketRow.device_id == DeviceRow.id)
        .join(SockReportRow, SockReportRow.socket_id == SocketRow.id)
        .join(PlaceRow, PlaceRow.device_id == DeviceRow.id)
        .join(MeasurementRow, MeasurementRow.recipient_id == RecipientRow.id)
        .join(ReadingRow, ReadingRow.measurement_id == MeasurementRow.id)
        .where(DeviceRow.use == Use.IN_USE, SocketRow.ended_on.is_(None), ReadingRow.struck_at.is_(None))
        .where(RecipientRow.state == CaseState.ACTIVE, PlaceRow.until.is_(None))
        .limit(1)
    )
    has_device = sa.exists().where(DeviceRow.recipient_id == RecipientRow.id)
    numbers = sa.select(RecipientRow.case_number)
    with served.db.reading() as session:
        found = dict(session.execute(full).mappings().one())
        found["bare"] = session.scalars(numbers.where(~has_device).limit(1)).one()
        found["paused"] = session.scalars(numbers.where(RecipientRow.state == CaseState.PAUSED).limit(1)).one()
        found["account_id"] = session.scalars(sa.select(AccountRow.id).limit(1)).one()
        found["lot"] = session.scalars(sa.select(LotRow.id).limit(1)).first()
        found["code"] = session.scalars(sa.select(SiteRow.code).limit(1)).one()
    with httpx.Client(base_url=served.address, headers=token_of(served, Role.COORDINATOR)) as client:
        number = found["case_number"]
        return (
            found
            | drafts(client, number)
            | reported(served, client, number)
            | asked(served, client, found)
            | noticed(client, found)
            | gets_on(client, number)
            | told(served)
        )


def reported(served: Served, client: httpx.Client, number: str) -> dict[str, Any]:
    """Something that hurts, an incident and a concern; returns the name of each in addresses."""
    for path, body in (
        (f"recipients/{number}/skin-reports", {"signs": ["red_stays"], "words": "At the elbow."}),
        (f"recipients/{number}/incidents", {"kind": "harm", "words": "It pinched."}),
        ("concerns", {"about": "A volunteer", "words": "A secret was kept."}),
    ):
        assert client.post(f"/api/v1/{path}", json=body).status_code == 201
    tables: dict[str, Any] = {"incident": IncidentRow, "review": ReviewTaskRow, "concern": ConcernRow}
    with served.db.reading() as session:
        return {name: session.scalars(sa.select(sa.func.max(table.id))).one() for name, table in tables.items()}


def noticed(client: httpx.Client, found: dict[str, Any]) -> dict[str, Any]:
    """A safety notice on a lot; returns its name in addresses."""
    body = {"lot": found["lot"], "todo": "look", "why": "The spool was brittle. Look for cracks."}
    answer = client.post("/api/v1/notices", json=body)
    assert answer.status_code == 201, answer.text
    return {"notice": answer.json()["id"]}


def gets_on(client: httpx.Client, number: str) -> dict[str, Any]:
    """A device that is said not to be used any more, and a goal; returns their names in addresses."""
    where = f"/api/v1/recipients/{number}"
    asks = client.get(f"{where}/follow-ups").json()["items"]
    ask = next(each for each in asks if not each["answer"] and each["state"] != "not_yet")
    said = {"device": ask["device"], "on": ask["due_on"], "used": False, "why_not": "too_heavy", "harm": "It pinched."}
    answer = client.post(f"{where}/follow-ups", json=said)
    assert answer.status_code == 201, answer.text
    levels = {str(level): f"So far it is {level}." for level in range(-2, 3)}
    goals = [{"words": words, "levels": levels, "baseline": -2} for words in ("Do up my own coat.", "Hold a cornet.")]
    pursued, over = (client.post(f"{where}/goals", json=each).json()["id"] for each in goals)
    for path, body in (
        (f"goals/{over}/scores", {"level": 1, "words": "By myself."}),
        (f"goals/{over}/end", {"why": "Done."}),
        ("questionnaire-scores", {"instrument": "The clinic's own", "version": "2", "score": 71.5}),
    ):
        assert client.post(f"{where}/{path}", json=body).status_code == 201
    return {"follow_up": answer.json()["id"], "goal": pursued}


def told(served: Served) -> dict[str, Any]:
    """A report of everything, and one of which nearly nothing may be told; returns how they are named."""
    with served.db.writing() as session:
        work = Work(session, SYSTEM, datetime.now(UTC))
        assert keep_sheet(work, sheets.rich(date(2018, 12, 31)))
        assert keep_sheet(work, sheets.hidden().model_copy(update={"as_of": date(2017, 12, 31)}))
    return {"year": 2018, "hidden": 2017, "key": "wear.now"}


def token_of(served: Served, role: Role) -> dict[str, str]:
    """The header that shows a demo person's token."""
    person = next(each for each in demo.PEOPLE if each.role is role)
    with served.db.writing() as session:
        account = session.scalars(sa.select(AccountRow.id).where(AccountRow.email == person.email)).one()
        ends = datetime.now(UTC) + timedelta(days=1)
        kept = {
            "token_hash": sha256(b"for every page").hexdigest(),
            "created_at": datetime.now(UTC),
            "expires_at": ends,
        }
        session.add(TokenRow(account_id=account, name="test", **kept))
    return {"Authorization": "Bearer for every page"}


def address(path: str, names: dict[str, Any]) -> str:
    """A route's path with everything in it named."""
    private = {"version": names["socket_version"]} if path.startswith(OF_A_SOCKET) else {}
    token = names["unsubscribe"] if path.startswith("/unsubscribe/") else LINK
    path += "?lot={lot}" if path == "/notices/new" else ""  # it is about something, or it is nothing
    return path.format(**{**names, **private, "token": token})


@pytest.mark.parametrize("path", [*ROUTES, *MORE])
def test_a_page_fits_and_everybody_can_use_it(
    served: Served, chromium: Any, cookies: Callable[[Role], Any], names: dict[str, Any], path: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    others = {Role.ADMINISTRATOR: ADMINISTRATORS, Role.SAFEGUARDING_LEAD: LEADS, Role.VOLUNTEER: VOLUNTEERS}
    role = next((role for role, theirs in others.items() if path in theirs), Role.COORDINATOR)
    context = chromium.new_context(storage_state=None if path == "/sign-in" else cookies(role))
    page = context.new_page()
    complaints: list[str] = []
    page.on(
        "console", lambda message: complaints.append(message.text) if message.type in {"error", "warning"} else None
    )
    page.on("pageerror", lambda error: complaints.append(str(error)))
    answer = page.goto(served.address + address(path, names))
    assert answer.status == (404 if path == "/nowhere" else 200)

    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 800})
            too_wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert too_wide <= 0, f"{too_wide} px run off the side at {width} px"
            if (width, scheme) in LOOKED_AT_CLOSELY:
                found = axe.run(page)
                assert found.violations_count == 0, found.generate_report()
    if path == "/nowhere":
        complaints = [each for each in complaints if "404" not in each]
    assert complaints == []
    context.close()
