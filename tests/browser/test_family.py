"""A family's pages in a browser without script, on a small phone and in every language: as it taps through them."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa

from service import demo
from service.access.actor import Actor
from service.access.permissions import Role
from service.access.work import Work
from service.assembly.tables import PlaceRow
from service.devices.rules import Use
from service.devices.tables import DeviceRow
from service.family.actions import make_link
from service.family.schemas import MakeLink
from service.family.tables import LinkRow
from service.kit.clock import clock_in
from service.kit.passwords import fingerprint
from service.matching.rules import OfferState
from service.matching.tables import OfferRow
from service.outcomes.queries import due
from service.recipients.tables import RecipientRow
from service.requests.tables import RequestRow
from service.words.catalogue import languages, words
from tests.browser.conftest import PATIENCE_MS, Served

pytestmark = pytest.mark.browser

WIDTHS = (320, 360, 1280)
LOOKED_AT_CLOSELY = ((320, "light"), (1280, "dark"))
PAGES = (
    *(
        "",
        "/skin",
        "/broken",
        "/broken?part=other&happened=broken",
        "/socks",
        "/requests",
        "/how",
        "/say",
        "/stop",
        "/worry",
    ),
    "/broken?device={device}&part=index&happened=broken",
    "/requests/{request}/photos",
)


class Thumb:
    """Taps and types, and counts how often."""

    def __init__(self, page: Any) -> None:
        self.page, self.taps = page, 0

    def tap(self, what: str, at: int = 0) -> None:
        """Tap the `at`-th thing of a kind."""
        self.page.locator(what).nth(at).click()
        self.taps += 1

    def choose(self, what: str, value: str) -> None:
        """Open a list, and tap what is chosen."""
        self.page.locator(what).select_option(value)
        self.taps += 2

    def write(self, what: str, text: str) -> None:
        """Tap a field, and type."""
        self.page.locator(what).fill(text)
        self.taps += 1


@pytest.mark.parametrize("number", range(len(languages())), ids=languages())
def test_from_the_link_to_a_broken_part_in_under_ten_taps(served: Served, chromium: Any, number: int) -> None:
    """Each language tells of another part: the same once more is known already."""
    code, (key, born) = languages()[number], printed(served)
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 360, "height": 640})
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(f"{served.address}/family/{key}?lang={code}")
    assert page.locator("html").get_attribute("lang") == code
    thumb = Thumb(page)
    thumb.choose("[name=month]", str(born.month))
    thumb.write("[name=year]", str(born.year))
    thumb.tap("button")
    thumb.tap('a.choice[href$="/broken"]')
    thumb.tap('.choices a.choice:not([href*="part=index"])', 2 + number)  # that one is asked for in the story
    thumb.tap('a.choice[href*="happened=broken"]')
    thumb.tap('button[value="no"]')
    assert page.title() == words(code)("Thank you for telling us.")
    assert page.get_by_text(words(code)("We will look for somebody to make it.")).is_visible()
    assert thumb.taps < 10
    context.close()


def test_a_broken_part_is_matched_accepted_and_the_family_sees_each_step(
    served: Served, chromium: Any, cookies: Callable[[Role], Any]
) -> None:
    """After the parts were told above: the coordinator plans and offers, the volunteer says yes by the link."""
    key, born = printed(served)
    context = chromium.new_context(storage_state=cookies(Role.COORDINATOR), viewport={"width": 360, "height": 640})
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(f"{served.address}/requests?q=Ines")
    mine = page.locator(".ledger h2 a", has_text="broken").first
    request = int(str(mine.get_attribute("href")).rpartition("/")[2])
    page.goto(f"{served.address}/plans")
    page.locator("form", has=page.locator('input[value="mer"]')).get_by_role("button").click()
    page.get_by_role("button", name="Offer what is ticked").click()
    page.wait_for_load_state()
    with served.db.writing() as session:
        offer = session.scalars(
            sa.select(OfferRow.id).where(OfferRow.request_id == request, OfferRow.state == OfferState.WAITING)
        ).one()
        known = fingerprint("a-link-the-test-knows")
        session.execute(sa.update(OfferRow).where(OfferRow.id == offer).values(token_hash=known))
    context.close()

    volunteer = chromium.new_context(viewport={"width": 360, "height": 640}).new_page()
    volunteer.goto(f"{served.address}/offers/a-link-the-test-knows")
    volunteer.get_by_role("button", name=re.compile("^Yes")).click()
    volunteer.wait_for_load_state()
    with served.db.reading() as session:
        assert session.get_one(OfferRow, offer).state is OfferState.ACCEPTED

    family = chromium.new_context(java_script_enabled=False, viewport={"width": 360, "height": 640}).new_page()
    family.set_default_timeout(PATIENCE_MS)
    family.goto(f"{served.address}/family/{key}")
    family.locator("[name=month]").select_option(str(born.month))
    family.locator("[name=year]").fill(str(born.year))
    family.locator("button").first.click()
    family.get_by_role("link", name="Where is my request?").click()
    family.get_by_text("Somebody is making it.").first.wait_for()


def printed(served: Served) -> tuple[str, date]:
    """What `handspan demo` prints of the family's door."""
    door = demo.family_door(served.db)
    assert door is not None
    return door


@pytest.fixture(scope="module")
def family(served: Served, chromium: Any) -> tuple[str, Any]:
    """The address of a family's first page, and what its browser keeps once it has shown who it is."""
    wearer = (
        sa.select(RecipientRow.case_number, RecipientRow.birth_date, RecipientRow.site_id)
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .join(PlaceRow, PlaceRow.device_id == DeviceRow.id)
        .where(DeviceRow.use == Use.IN_USE, PlaceRow.until.is_(None), RecipientRow.language == "en")
        .order_by(RecipientRow.id)
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


def things(served: Served, home: str) -> dict[str, int]:
    """A device of the family's, and a request that was told before."""
    opens = LinkRow.key_hash == fingerprint(home.rpartition("/")[2])
    whose = sa.select(LinkRow.recipient_id).where(opens).scalar_subquery()
    device = sa.select(DeviceRow.id).where(DeviceRow.recipient_id == whose, DeviceRow.use == Use.IN_USE)
    request = sa.select(RequestRow.id).where(RequestRow.recipient_id == whose, RequestRow.settled_at.is_(None))
    with served.db.reading() as session:
        return {
            "device": session.scalars(device.limit(1)).one(),
            "request": session.scalars(request.limit(1)).one(),
        }


@pytest.mark.parametrize("path", [*PAGES, "/nowhere"])
def test_a_page_fits_and_everybody_can_use_it(
    served: Served, chromium: Any, family: tuple[str, Any], path: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    home, kept = family
    named = things(served, home)
    context = chromium.new_context(storage_state=kept)
    page = context.new_page()
    for code in languages():
        joined = "&" if "?" in path else "?"
        answer = page.goto(f"{home}{path.format(**named)}{joined}lang={code}")
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


@pytest.mark.parametrize("used", ["true", "false"])
def test_the_questions_about_how_it_goes_fit_and_are_answered_without_script(
    served: Served, chromium: Any, used: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    with served.db.writing() as session:
        sites = frozenset(session.scalars(sa.select(RecipientRow.site_id).distinct()))
        coordinator = Actor("a test", frozenset({Role.COORDINATOR}), sites=sites)
        work = Work(session, coordinator, clock_in(ZoneInfo("UTC"))())
        asked = next(each for each in due(work, 0) if each.questions)
        born = session.scalars(
            sa.select(RecipientRow.birth_date).where(RecipientRow.case_number == asked.case_number)
        ).one()
        home = make_link(work, asked.case_number, MakeLink(), base_url=served.address).url
    context = chromium.new_context(viewport={"width": 320, "height": 640})
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(f"{home}?lang=en")
    page.get_by_label("Month").select_option(str(born.month))
    page.get_by_label("Year").fill(str(born.year))
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("link", name="How is it going?").wait_for()
    for code in languages():
        page.goto(f"{home}/how?device={asked.device}&used={used}&lang={code}")
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 640})
            too_wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert too_wide <= 0, f"{too_wide} px run off the side at {width} px in {code}"
        found = axe.run(page)
        assert found.violations_count == 0, found.generate_report()
    plain = chromium.new_context(storage_state=context.storage_state(), java_script_enabled=False).new_page()
    plain.goto(f"{home}/how?device={asked.device}&used={used}&lang=en")
    plain.get_by_label("It hurts a little").check()
    plain.get_by_label("Where does it hurt?").fill("At the elbow")
    plain.get_by_role("button", name="Send it").click()
    plain.get_by_role("heading", name="Thank you for telling us.").wait_for()
    plain.context.close()
    context.close()
