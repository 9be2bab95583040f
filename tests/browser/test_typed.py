"""What somebody typed outlives a lost signal, in the tab it was typed in, and is offered back to them alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from service.access.permissions import Role
from tests.browser.conftest import PATIENCE_MS, Served, sign_in

pytestmark = pytest.mark.browser

LOOKED_TWICE_MS = 20_000
NOTE = "Red marks in the evening."


@pytest.fixture
def page(chromium: Any, cookies: Callable[[Role], Any]) -> Any:
    context = chromium.new_context(storage_state=cookies(Role.COORDINATOR), viewport={"width": 360, "height": 740})
    made = context.new_page()
    made.set_default_timeout(PATIENCE_MS)
    yield made
    context.close()


def open_sock_form(page: Any, served: Served) -> str:
    """The form for the first socket of the work list; returns its address."""
    page.goto(f"{served.address}/work-list")
    address = page.locator(".ledger .name a").first.get_attribute("href")
    page.goto(f"{served.address}{address}/socks")
    return str(page.url)


def fill(page: Any) -> None:
    page.locator("input[name=plies]").first.check()
    page.locator("input[name=fit][value=snug]").check()
    page.locator("input[name=note]").fill(NOTE)


def kept(page: Any) -> list[str]:
    found: list[str] = page.evaluate("Object.keys(sessionStorage).filter((key) => key.startsWith('typed:'))")
    return found


def test_without_a_connection_nothing_is_sent_and_nothing_is_lost(served: Served, page: Any) -> None:
    address = open_sock_form(page, served)
    fill(page)
    page.context.set_offline(True)
    page.get_by_role("button", name="Report the socks").click()
    page.get_by_text("There is no connection, so nothing was sent.").wait_for()
    assert page.url == address
    assert page.locator("input[name=note]").input_value() == NOTE

    page.context.set_offline(False)
    page.goto(f"{served.address}/work-list")
    page.goto(address)
    page.get_by_text(re.compile(r"What you typed at \d\d:\d\d was not recorded")).wait_for()
    page.get_by_role("button", name="Put it back").click()
    assert page.locator("input[name=note]").input_value() == NOTE
    assert page.locator("input[name=fit][value=snug]").is_checked()

    page.get_by_role("button", name="Report the socks").click()
    page.wait_for_url("**done=*")
    assert kept(page) == []
    page.goto(address)
    assert page.get_by_role("button", name="Put it back").count() == 0


def test_an_answer_that_never_came_is_told_from_one_that_said_no(served: Served, page: Any) -> None:
    address = open_sock_form(page, served)
    fill(page)
    page.route("**/socks", lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    page.get_by_role("button", name="Report the socks").click()
    page.wait_for_timeout(300)
    page.goto(address)
    page.get_by_text("may not have arrived: look whether it is recorded").wait_for()
    page.unroute("**/socks")
    page.get_by_role("button", name="Put it back").click()

    page.evaluate("document.querySelector('main [name=form_token]').value = 'of before'")
    page.get_by_role("button", name="Report the socks").click()
    page.get_by_text("This form is out of date").wait_for()
    page.get_by_role("link", name="Open the form again").click()
    page.get_by_text("was not recorded").wait_for()
    page.get_by_role("button", name="Throw it away").click()
    assert kept(page) == []


def test_what_was_typed_is_gone_after_signing_out_and_no_password_is_ever_kept(served: Served, chromium: Any) -> None:
    context = chromium.new_context()
    page = context.new_page()
    sign_in(page, served.address, Role.VOLUNTEER)
    assert kept(page) == []
    page.goto(f"{served.address}/account")
    page.get_by_label("New password", exact=True).fill("not to be kept anywhere")
    page.goto(f"{served.address}/work-list")
    assert kept(page) == []

    open_sock_form(page, served)
    fill(page)
    page.goto(f"{served.address}/work-list")
    assert len(kept(page)) == 1
    page.locator(".who summary").click()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in**")
    assert kept(page) == []
    context.close()


def test_a_page_looks_again_by_itself_while_something_is_being_worked_out(served: Served, page: Any) -> None:
    page.goto(f"{served.address}/work-list")
    address = page.locator(".ledger .name a").first.get_attribute("href")
    loads = 0

    def waiting_at_first(route: Any) -> None:
        nonlocal loads
        loads += 1
        answer = route.fetch()
        marked = answer.text().replace("</main>", "<p data-waiting>being worked out</p></main>")
        route.fulfill(response=answer, body=marked if loads <= 2 else answer.text())

    page.route(f"**{address}", waiting_at_first)
    page.goto(f"{served.address}{address}")
    page.locator("p[data-waiting]").wait_for(state="detached", timeout=LOOKED_TWICE_MS)
    page.wait_for_load_state()
    assert loads == 3


def test_a_page_stays_while_somebody_has_opened_something(served: Served, page: Any) -> None:
    page.clock.install()
    page.goto(f"{served.address}/work-list")
    address = page.locator(".ledger .name a").first.get_attribute("href")
    page.route(
        f"**{address}",
        lambda route: route.fulfill(
            response=(answer := route.fetch()), body=answer.text().replace("</main>", "<p data-waiting></p></main>")
        ),
    )
    page.goto(f"{served.address}{address}")
    page.evaluate("() => { document.body.dataset.still = 'here'; }")
    page.locator("main details summary").first.click()
    page.clock.run_for(20_000)
    assert page.locator("body").get_attribute("data-still") == "here"


def test_what_one_person_typed_is_not_shown_to_the_next_who_signs_in_at_the_same_tab(
    served: Served, page: Any, cookies: Callable[[Role], Any]
) -> None:
    address = open_sock_form(page, served)
    fill(page)
    page.goto(f"{served.address}/work-list")
    assert len(kept(page)) == 1
    page.context.clear_cookies()
    page.context.add_cookies(cookies(Role.CLINICIAN)["cookies"])
    page.goto(address)
    assert page.locator("input[name=note]").input_value() == ""
    assert page.get_by_role("button", name="Put it back").count() == 0
    assert kept(page) == []
