"""The two pages everybody lives in, as a browser gets them."""

from __future__ import annotations

import html
import re
from datetime import date, timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from service.casefile import pages
from service.kit.jobs import JobRow, JobState
from tests.accounts.people import open_account, signed_in
from tests.casefile.people import fitted, foreseen, measured, opened
from tests.conftest import START, Register

TODAY = START.date()


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    return as_somebody(register, Role.COORDINATOR)


def as_somebody(register: Register, role: Role, site: str = "harbour") -> TestClient:
    email = f"{role.value}.{site}@example.org"
    open_account(register, role, email=email, site=site)
    return signed_in(register, email)


def words(browser: TestClient, address: str) -> str:
    """What a page says, without its tags."""
    answer = browser.get(address)
    assert answer.status_code == 200, answer.text
    said = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.text)).replace("\u2019", "'").split())
    return re.sub(r" (?=[.;:,])", "", said)


def due_in(register: Register, coordinator: TestClient, days: int, already: float = 0.0, name: str = "Ines") -> str:
    """A case whose socket should be started in so many days."""
    number = opened(coordinator, register.api(Role.CLINICIAN), given_name=name)
    measured(coordinator, number, "2026-02-20", 171)
    start_by = TODAY + timedelta(days=days)
    dates: dict[str, Any] = {f"p{p}": start_by + timedelta(days=28 + p) for p in (10, 50, 90)}
    foreseen(register, fitted(coordinator, number), already=already, start_by=start_by, **dates)
    return number


def test_an_empty_register_says_what_to_do_first(register: Register, browser: TestClient) -> None:
    said = words(browser, "/work-list")
    assert "No socket is worn." in said
    assert "Open a case, measure the limb, and record the socket" in said
    assert 'href="/recipients/new"' in browser.get("/work-list").text
    assert browser.get("/recipients/new").status_code == 200
    assert "Open a case," not in words(as_somebody(register, Role.VOLUNTEER), "/work-list")


@pytest.mark.parametrize(
    ("starts", "sentence"),
    [
        ((-3, 0, 10, 20), "Two sockets should be started now; the next by 12 March."),
        ((-3,), "One socket should be started now."),
        ((10, 20), "Nothing need be started today; the next socket by 12 March."),
    ],
)
def test_the_first_line_says_what_is_so(
    register: Register, coordinator: TestClient, browser: TestClient, starts: tuple[int, ...], sentence: str
) -> None:
    for days in starts:
        due_in(register, coordinator, days)
    assert sentence in words(browser, "/work-list")


def test_who_is_probably_tight_comes_first_with_a_caution(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    due_in(register, coordinator, -60, name="Late")
    assert "should come off" not in words(browser, "/work-list")
    due_in(register, coordinator, -28, already=0.6, name="Tight")
    said = words(browser, "/work-list")
    assert "Two sockets should be started now, one of them more likely tight than not." in said
    assert said.index("Tight Okafor") < said.index("Late Okafor")
    assert "is probably tight already. Ask, and measure" in said
    assert "should come off" in said


def test_a_forecast_is_never_shown_as_if_it_were_the_newest_when_it_is_not(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = due_in(register, coordinator, 10)
    case = f"/recipients/{number}"
    assert "being worked out" not in words(browser, "/work-list")
    assert "being worked out" not in words(browser, case)
    measured(coordinator, number, "2026-03-01", 175)
    for page in ("/work-list", case):
        said = words(browser, page)
        assert "will be tight is being worked out again" in said
        assert "start the next one by" not in said
        assert "start a new one by" not in said
        assert "data-waiting" in browser.get(page).text
        look_again = re.search(r'href="([^"]+)">Look again', browser.get(page).text)
        assert look_again is not None
        assert look_again[1].startswith(page)
        assert browser.get(html.unescape(look_again[1])).status_code == 200
    with register.db.writing() as session:
        session.execute(sa.update(JobRow).values(state=JobState.FAILED))
    assert "could not be worked out" in words(browser, "/work-list")
    assert "could not be worked out" in words(browser, case)


def test_each_kind_has_its_count_and_its_page(register: Register, coordinator: TestClient, browser: TestClient) -> None:
    number = opened(coordinator, birth_date="2010-03-10")
    for kind, name, sentence in (
        ("measurement_overdue", "To measure", "One person should be measured."),
        ("missing", "Missing", "One case lacks something that is needed before a device is made."),
        ("review", "Reviews", "One review at 16 or 18 is due."),
    ):
        said = words(browser, f"/work-list?kind={kind}")
        assert sentence in said
        assert f"{name} (1)" in said
        assert number in said


def test_a_long_list_goes_on_with_what_was_asked_for(
    register: Register, coordinator: TestClient, browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pages, "LIST_LENGTH", 2)
    numbers = [due_in(register, coordinator, days) for days in (1, 2, 3)]
    address = "/work-list?side=left&site="
    seen: list[str] = []
    while address:
        page = browser.get(address).text
        seen += re.findall(r'class="name"><a href="/recipients/([\d-]+)"', page)
        following = re.search(r'href="([^"]+)" rel="next"', page)
        address = html.unescape(following[1]) if following else ""
        assert not address or "side=left" in address
    assert seen == numbers


def test_a_new_case_says_what_to_do_next(coordinator: TestClient, browser: TestClient) -> None:
    case = f"/recipients/{opened(coordinator)}"
    said = words(browser, case)
    assert "Ines wears no device yet." in said
    assert "Measure the limb. Nothing can be foreseen before the first measurement." in said
    assert "The case was opened, as active" in said
    assert "Still needed before a device is made: a clinician's note that a device is suitable." in said
    for act in ("measure", "devices/new", "particulars"):
        assert f'href="{case}/{act}"' in browser.get(case).text


def test_a_case_shows_what_is_worn_and_when_it_will_be_tight(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = due_in(register, coordinator, 10)
    report = {"on": "2026-02-25", "plies": [3], "fit": "snug"}
    assert coordinator.post(f"/api/v1/recipients/{number}/sock-reports", json=report).status_code == 201
    with register.db.writing() as session:
        session.execute(sa.update(JobRow).values(state=JobState.DONE))
    said = words(browser, f"/recipients/{number}")
    assert "Ines's left everyday socket will be tight around May; start a new one by 12 March." in said
    assert "Start the next socket by 12 March. Making takes about 28 days." in said
    assert "In place since 12 January, last worn with one 3-ply sock on 25 February, when it felt snug." in said
    assert "tight at 190.0 mm" in said
    assert "The chance that it is tight today is less than 1 in 100." in said
    assert browser.get(f"/recipients/{number}").text.count('class="point kept"') == 1


def test_a_case_with_a_long_history_costs_as_many_statements_as_a_new_one(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    statements: list[str] = []
    sa.event.listen(
        register.db.engine, "before_cursor_execute", lambda _c, _cur, statement, *_: statements.append(statement)
    )
    number = opened(coordinator)

    def one_of_each(month: int) -> None:
        measured(coordinator, number, date(2025, month, 10).isoformat(), 160 + month)
        fitted(coordinator, number, purpose=f"for month {month}")

    def cost() -> int:
        statements.clear()
        assert browser.get(f"/recipients/{number}").status_code == 200
        return len(statements)

    one_of_each(1)
    few = cost()
    for month in (2, 3, 4):
        one_of_each(month)
    assert cost() == few


def test_no_day_to_start_is_given_for_what_will_probably_not_happen(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator, register.api(Role.CLINICIAN))
    measured(coordinator, number, "2026-02-20", 171)
    foreseen(register, fitted(coordinator, number), p10=date(2028, 8, 1), start_by=date(2028, 7, 4))
    for page in ("/work-list", f"/recipients/{number}"):
        said = words(browser, page)
        assert "will probably not be tight within three years, but may be from August 2028." in said
        assert "4 July 2028" not in said


def test_likelihood_is_said_by_one_word_wherever_it_stands(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    case = f"/recipients/{due_in(register, coordinator, -28, already=0.995)}"
    for page in ("/work-list", case):
        said = words(browser, page)
        assert "almost certainly tight already" in said
        assert "probably tight" not in said
    why = coordinator.get("/api/v1/work-list", params={"kind": "socket_due"}).json()["items"][0]["why"]
    assert "almost certainly tight already" in why


def test_a_case_leads_to_a_new_socket_of_each_device_in_use_and_last_to_a_new_device(
    coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator)
    for purpose in ("everyday", "cycling"):
        fitted(coordinator, number, purpose=purpose)
    case = f"/recipients/{number}"
    page = browser.get(case).text
    devices = [each["id"] for each in coordinator.get(f"/api/v1{case}/devices").json()["items"]]
    aside = page.partition('class="aside"')[2].partition("</aside>")[0]
    links = re.findall(r'href="([^"]+)"', aside)
    for device in devices:
        assert f"{case}/devices/{device}/sockets/new" in links
        assert browser.get(f"{case}/devices/{device}/sockets/new").status_code == 200
    assert links[-1] == f"{case}/devices/new"
    assert "Record a new socket: left, cycling" in words(browser, case)


@pytest.mark.parametrize("page", ["", "/measure", "/socks", "/particulars"])
def test_a_sheet_on_paper_says_whose_it_is(coordinator: TestClient, browser: TestClient, page: str) -> None:
    number = opened(coordinator)
    fitted(coordinator, number)
    said = words(browser, f"/recipients/{number}{page}")
    assert f"Ines Okafor, case {number}; printed on 2 March 2026" in said


def test_opening_a_case_is_recorded(register: Register, coordinator: TestClient, browser: TestClient) -> None:
    number = opened(coordinator)
    with register.db.reading() as session:
        before = session.scalar(sa.select(sa.func.max(AuditRow.id))) or 0
    browser.get(f"/recipients/{number}")
    with register.db.reading() as session:
        acts = session.scalars(sa.select(AuditRow.act).where(AuditRow.id > before)).all()
    assert acts == ["read"]


def test_a_case_is_hidden_from_whoever_has_no_business_with_it(register: Register, coordinator: TestClient) -> None:
    case = f"/recipients/{opened(coordinator)}"
    assert as_somebody(register, Role.COORDINATOR, "island").get(case).status_code == 404
    assert as_somebody(register, Role.VOLUNTEER).get(case).status_code == 404
    assert as_somebody(register, Role.TRUSTEE).get(case).status_code == 403
    lead = as_somebody(register, Role.SAFEGUARDING_LEAD).get(case)
    assert lead.status_code == 200
    assert f"{case}/measure" not in lead.text
    assert register.browser().get(case).headers["location"].startswith("/sign-in")


def test_a_reading_that_would_help_is_asked_for_where_the_socket_is(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator, register.api(Role.CLINICIAN))
    measured(coordinator, number, "2026-02-20", 171)
    asks = "A tape reading of the residual limb girth by 20 May 2026 would halve the uncertainty about when to start."
    dates: dict[str, Any] = {"p10": date(2026, 7, 1), "p50": date(2026, 9, 1), "p90": date(2026, 12, 1)}
    socket = fitted(coordinator, number)
    foreseen(register, socket, **dates, start_by=date(2026, 6, 3), measure_by=date(2026, 5, 20), measure_why=asks)
    assert asks in words(browser, "/work-list")
    said = words(browser, f"/recipients/{number}")
    assert f"Measure again by 20 May. {asks}" in said
    assert "Start the next socket by 3 June. Making takes about 28 days." in said


def test_the_reason_for_a_reading_stands_beside_its_own_day_only(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator, register.api(Role.CLINICIAN))
    measured(coordinator, number, "2026-02-20", 171)
    asks = "A tape reading of the residual limb girth by 2 December 2026 would halve the uncertainty."
    dates: dict[str, Any] = {"p10": date(2027, 1, 1), "p50": date(2027, 3, 1), "p90": date(2027, 6, 1)}
    socket = fitted(coordinator, number)
    foreseen(register, socket, **dates, start_by=date(2026, 12, 9), measure_by=date(2026, 12, 2), measure_why=asks)
    said = words(browser, f"/recipients/{number}")
    assert "Measure again by 21 August. Measure" in said, "the half-yearly day, then the button"
    assert asks not in said
