"""A family's pages in a browser without script, on a small phone and in every language: as it taps through them."""

from __future__ import annotations

import re
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa

from service.access.actor import Actor
from service.access.permissions import Role
from service.access.work import Work
from service.assembly.tables import PlaceRow
from service.devices.rules import Use
from service.devices.tables import DeviceRow
from service.family.actions import make_link
from service.family.schemas import MakeLink
from service.family.words import languages, words
from service.kit.clock import clock_in
from service.recipients.tables import RecipientRow
from tests.browser.conftest import PATIENCE_MS, Served

pytestmark = pytest.mark.browser

WIDTHS = (320, 360, 1280)
LOOKED_AT_CLOSELY = ((320, "light"), (1280, "dark"))
PAGES = ("", "/skin", "/broken", "/broken?part=other&happened=broken", "/socks", "/requests", "/say", "/worry")


@pytest.fixture(scope="module")
def family(served: Served, chromium: Any) -> tuple[str, Any]:
    """The address of a family's first page, and what its browser keeps once it has shown who it is."""
    wearer = (
        sa.select(RecipientRow.case_number, RecipientRow.birth_date, RecipientRow.site_id)
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .join(PlaceRow, PlaceRow.device_id == DeviceRow.id)
        .where(DeviceRow.use == Use.IN_USE, PlaceRow.until.is_(None))
        .limit(1)
    )
    with served.db.writing() as session:
        row = session.execute(wearer).one()
        coordinator = Actor("a test", frozenset({Role.COORDINATOR}), sites=frozenset({row.site_id}))
        work = Work(session, coordinator, clock_in(ZoneInfo("UTC"))())
        home = make_link(work, row.case_number, MakeLink(), base_url=served.address).url
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 320, "height": 640})
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(home)
    page.get_by_label("Month").select_option(str(row.birth_date.month))
    page.get_by_label("Year").fill(str(row.birth_date.year))
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("heading", name=re.compile("^Hello ")).wait_for()
    kept = context.storage_state()
    context.close()
    return home, kept


def test_what_broke_is_told_in_five_taps_without_script(chromium: Any, family: tuple[str, Any]) -> None:
    home, kept = family
    context = chromium.new_context(
        java_script_enabled=False, storage_state=kept, viewport={"width": 320, "height": 640}
    )
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(home)
    page.get_by_role("link", name="Something broke").click()
    page.locator(".choices a").first.click()
    page.get_by_role("link", name="It is loose").click()
    page.get_by_role("button", name="Yes, I can use it").click()
    page.get_by_role("heading", name="Thank you for telling us.").wait_for()
    page.get_by_role("link", name="Where is my request?").click()
    page.get_by_role("heading", name="A new part").first.wait_for()
    context.close()


@pytest.mark.parametrize("path", [*PAGES, "/nowhere"])
def test_a_page_fits_and_everybody_can_use_it(chromium: Any, family: tuple[str, Any], path: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    home, kept = family
    context = chromium.new_context(storage_state=kept)
    page = context.new_page()
    for code in languages():
        joined = "&" if "?" in path else "?"
        answer = page.goto(f"{home}{path}{joined}lang={code}")
        assert answer.status == (404 if path == "/nowhere" else 200)
        assert page.evaluate("document.dir") == words(code).direction
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            for width in WIDTHS:
                page.set_viewport_size({"width": width, "height": 640})
                too_wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                assert too_wide <= 0, f"{too_wide} px run off the side at {width} px in {code}"
                if (width, scheme) in LOOKED_AT_CLOSELY:
                    found = axe.run(page)
                    assert found.violations_count == 0, found.generate_report()
    context.close()
