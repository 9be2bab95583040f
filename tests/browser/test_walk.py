"""A coordinator's way through the register, with script and without: who is due, and how a measurement moves it."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest

from service.access.permissions import Role
from tests.browser.conftest import Served, sign_in

pytestmark = pytest.mark.browser

WAIT_SECONDS = 30
GREW_MM = 3.0


@pytest.mark.parametrize(("script", "which"), [(True, 0), (False, 1)])
def test_a_measurement_moves_the_date(served: Served, chromium: Any, script: bool, which: int) -> None:
    context = chromium.new_context(java_script_enabled=script, viewport={"width": 360, "height": 740})
    page = context.new_page()
    sign_in(page, served.address, Role.COORDINATOR)
    page.get_by_role("link", name="Work list").click()
    entry = page.locator("li", has_text="start the next one by").nth(which)
    entry.get_by_role("link").first.click()  # the case; what is asked for it follows
    before = page.locator(".lead").inner_text()
    assert "will be tight around" in before

    page.get_by_role("link", name="Measure", exact=True).click()
    girths = page.locator("fieldset", has_text=re.compile("girth at level")).filter(has=page.locator("span.pencil"))
    assert girths.count() > 0
    for number in range(girths.count()):
        last = re.search(r"([\d.]+) mm on", girths.nth(number).inner_text())
        assert last is not None
        girths.nth(number).locator("input").first.fill(f"{float(last[1]) + GREW_MM:.1f}")
    page.get_by_role("button", name="Record the measurements").click()
    asked, recorded = page.get_by_text("Is this right?"), page.get_by_text("The measurement is recorded.")
    asked.or_(recorded).wait_for()
    if asked.count():
        page.get_by_role("button", name="It is right").click()
    recorded.wait_for()

    until = time.monotonic() + WAIT_SECONDS
    while page.get_by_text("being worked out again: ").count():
        assert time.monotonic() < until, "the forecast was not worked out"
        time.sleep(0.25)
        page.goto(page.url.partition("?")[0])
    assert page.locator(".lead").inner_text() != before
    context.close()


def test_somebody_is_found_while_typing(served: Served, chromium: Any, cookies: Callable[[Role], Any]) -> None:
    page = chromium.new_context(storage_state=cookies(Role.COORDINATOR)).new_page()
    page.goto(f"{served.address}/work-list")
    name = page.locator(".ledger .name a").first.inner_text()
    page.get_by_role("searchbox", name="Find a person").fill(name.split()[0])
    page.locator(".answers").get_by_role("link", name=name).click()
    assert page.get_by_role("heading", level=1).inner_text() == name
    page.context.close()


def test_somebody_is_found_on_enter_without_script(
    served: Served, chromium: Any, cookies: Callable[[Role], Any]
) -> None:
    page = chromium.new_context(storage_state=cookies(Role.COORDINATOR), java_script_enabled=False).new_page()
    page.goto(f"{served.address}/work-list")
    name = page.locator(".ledger .name a").first.inner_text()
    box = page.get_by_role("searchbox", name="Find a person")
    box.fill(name.split()[0])
    box.press("Enter")
    page.get_by_role("link", name=name).click()
    assert page.get_by_role("heading", level=1).inner_text() == name
    page.context.close()
