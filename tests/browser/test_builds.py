"""A finger made, checked, handed over and put on, on a phone, by a coordinator and somebody else who checks it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

import httpx2 as httpx
import pytest
import sqlalchemy as sa

from service import demo
from service.access.permissions import Role
from service.accounts.tables import AccountRow, TokenRow
from service.parts.rules import PartKind, VersionState
from service.parts.tables import DesignRow, VersionRow
from tests.assembly.things import lot, put
from tests.browser.conftest import Served
from tests.devices.worn import device, made
from tests.gate.things import agreed_case

pytestmark = pytest.mark.browser

PHONE = {"width": 360, "height": 740}
SECRET = "for a finger made anew"


@pytest.fixture
def broken(served: Served) -> dict[str, Any]:
    """A girl whose index finger broke, in a case that lacks nothing: its number, its device, and what is asked for."""
    person = next(each for each in demo.PEOPLE if each.role is Role.COORDINATOR)
    with served.db.writing() as session:
        account = session.scalars(sa.select(AccountRow.id).where(AccountRow.email == person.email)).one()
        kept = {"token_hash": sha256(SECRET.encode()).hexdigest(), "expires_at": datetime.now(UTC) + timedelta(days=1)}
        fingers = sa.select(VersionRow.id, VersionRow.materials).join(DesignRow, DesignRow.id == VersionRow.design_id)
        fits = (DesignRow.kind == PartKind.FINGER, DesignRow.side.is_(None), DesignRow.digit.is_(None))
        released = session.execute(fingers.where(*fits, VersionRow.state == VersionState.RELEASED)).all()
        version, material = released[0].id, released[0].materials[0]
        session.add(TokenRow(account_id=account, name="test", created_at=datetime.now(UTC), **kept))
    with httpx.Client(base_url=served.address, headers={"Authorization": f"Bearer {SECRET}"}) as over_the_wire:
        client: Any = over_the_wire
        number = agreed_case(client, given_name="Odile", family_name="Marsh")
        of_device = device(client, number)
        spool = lot(client, batch="for one finger", material=material, what=f"{material} 1.75 mm")
        there = put(
            client,
            number,
            of_device,
            on=str(datetime.now(UTC).date()),
            version=version,
            digit="index",
            lots=[spool],
            confirmed=True,
        )
        broke = {"case_number": number, "kind": "replacement", "parts": [{"place": there["place"]}], "words": "snapped"}
        return {"number": number, "device": of_device, "request": made(client, "requests", broke)["id"], "spool": spool}


def ticked(page: Any) -> None:
    """Answer every finding that is asked for with "In order"."""
    boxes = page.locator('input[type="radio"][name^="result-"][value="pass"]')
    for number in range(boxes.count()):
        boxes.nth(number).check()


def test_from_broken_to_worn(
    served: Served, chromium: Any, cookies: Callable[[Role], Any], broken: dict[str, Any]
) -> None:
    def phone(role: Role) -> Any:
        context = chromium.new_context(storage_state=cookies(role), viewport=PHONE)
        return context.new_page()

    runs, checks = phone(Role.COORDINATOR), phone(Role.VOLUNTEER)
    runs.goto(f"{served.address}/requests/{broken['request']}")
    runs.get_by_role("button", name="Begin making it").click()
    runs.get_by_text("It is here to be made.").wait_for()
    build = runs.url.partition("?")[0]
    runs.get_by_role("button", name="Begin it").click()
    runs.get_by_role("link", name="Log a print").click()
    runs.get_by_label("From which spool?").select_option(str(broken["spool"]))
    runs.get_by_role("button", name="It came out").click()
    runs.get_by_role("button", name="It is made: ask for its check").click()
    runs.get_by_text("Somebody else signs its bench check now.").wait_for()

    checks.goto(f"{served.address}/builds")
    checks.locator(f'a[href="{build.removeprefix(served.address)}"]').click()
    assert "Odile" not in checks.content()
    checks.get_by_role("link", name="Sign its bench check").click()
    ticked(checks)
    checks.get_by_role("button", name="Sign it").click()
    checks.get_by_text("The check is signed, and everything is in order.").wait_for()

    runs.goto(build)
    runs.get_by_role("link", name="Record the delivery").click()
    runs.get_by_label("Given to").fill("the mother")
    runs.get_by_role("button", name="Record the delivery").click()
    runs.get_by_role("link", name="Record the fitting").click()
    ticked(runs)
    runs.get_by_label("Who did you explain them to?").fill("the mother")
    runs.get_by_label("Finger, index").select_option("broken")
    runs.get_by_label("How long was it worn before you looked?").fill("10")
    runs.get_by_role("button", name="Record the fitting").click()
    runs.get_by_text("It was worn 10 minutes.").first.wait_for()
    assert runs.get_by_label("Who did you explain them to?").input_value() == "the mother"
    runs.get_by_label("How long was it worn before you looked?").fill("20")
    runs.get_by_role("button", name="Record the fitting").click()
    runs.get_by_text("It is fitted: what is worn is recorded").wait_for()
    runs.goto(f"{served.address}/requests/{broken['request']}")
    assert "It was handed over on" in runs.locator(".lead").inner_text()
    for page in (runs, checks):
        page.context.close()
