"""The trustees' page: who sees it, what it says first, reports of past years, and that each figure is explained."""

from __future__ import annotations

import re
from datetime import date
from io import BytesIO
from zipfile import ZipFile

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from service.figures.definitions import DEFINITIONS
from tests.conftest import Register
from tests.figures.sheets import FORMULA, MARKUP, empty, hidden, rich
from tests.figures.shown import kept
from tests.gate.reading import browser_of, words

SEEN_BY = {Role.TRUSTEE, Role.COORDINATOR, Role.CLINICIAN, Role.SAFEGUARDING_LEAD}
EVERY = (
    "/outcomes",
    "/outcomes/figures",
    "/outcomes/figures/wear.now",
    "/outcomes/latest.pdf",
    "/outcomes/latest.zip",
    "/outcomes/reports/2025",
    "/outcomes/reports/2025.pdf",
    "/outcomes/reports/2025.zip",
)


@pytest.fixture
def trustee(register: Register) -> TestClient:
    register.account(Role.TRUSTEE)
    return browser_of(register, "trustee")


@pytest.mark.parametrize("path", EVERY)
def test_trustees_and_who_runs_a_site_see_it_others_not(register: Register, path: str) -> None:
    kept(register, rich())
    for role in PEOPLE:
        register.account(role, name=role.value)
    found = {role for role in PEOPLE if browser_of(register, role.value).get(path).status_code == 200}
    assert found == SEEN_BY
    assert register.browser().get(path).headers["location"].startswith("/sign-in?next=")


def test_the_first_line_is_the_answer_and_the_rule_stands_near_it(register: Register, trustee: TestClient) -> None:
    kept(register, rich())
    page = trustee.get("/outcomes").text
    assert '<p class="lead">About 74 in 100 devices are still worn (at least 66, at most 81).</p>' in page
    said = words(page)
    assert said.index("Counts under 8 are hidden, and others rounded to the nearest 5") < 600
    contents = re.findall(r'<li><a href="#(\w+)">', page)
    assert contents == ["wear", "durability", "waits", "fairness", "change", "years"]
    assert all(f'id="{each}"' in page for each in contents)


def test_every_section_is_told_whole(register: Register, trustee: TestClient) -> None:
    kept(register, rich())
    said = words(trustee.get("/outcomes").text)
    for section in rich().sections:
        runs = [each for run in section.runs for each in (*run.findings, run.why)]
        for told in (
            section.title,
            section.lead,
            *section.notes,
            *runs,
            *(each.verdict for each in section.comparisons),
        ):
            assert told in said, told
    assert "2.14 times (1.21 to 3.45), where 1 is no difference; log-rank test, p: < 0.01" in said
    assert "Not drawn, for there are too few to tell of: " + FORMULA in said


def test_names_are_set_as_they_are_typed(register: Register, trustee: TestClient) -> None:
    kept(register, rich())
    page = trustee.get("/outcomes").text
    assert MARKUP in words(page.replace("&lt;b&gt;", "&lt;b&gt;"))
    assert "<b>" not in page


def test_only_who_keeps_a_site_is_led_to_its_exact_figures(register: Register, trustee: TestClient) -> None:
    register.account(Role.COORDINATOR)
    for browser, may in ((trustee, False), (browser_of(register, "coordinator"), True)):
        page = browser.get("/outcomes").text
        assert ('href="/outcomes/exact"' in page) is may
        assert ('href="/outcomes/spares"' in page) is may


def test_ids_are_not_used_twice(register: Register, trustee: TestClient) -> None:
    kept(register, rich())
    for path in ("/outcomes", "/outcomes/figures/wear.now"):
        found = re.findall(r'\sid="([^"]+)"', trustee.get(path).text)
        assert len(found) == len(set(found))


def test_before_the_first_sheet_the_page_says_when_there_will_be_one(trustee: TestClient) -> None:
    said = words(trustee.get("/outcomes").text)
    assert "Nothing has been worked out yet." in said
    assert "two weeks after its last day" in said
    for ending in ("pdf", "zip"):
        answer = trustee.get(f"/outcomes/latest.{ending}")
        assert answer.status_code == 404
        assert "No figures have been worked out yet" in answer.text
    assert trustee.get("/outcomes/figures/wear.now").status_code == 200


def test_where_nothing_or_little_may_be_told_it_says_so(register: Register, trustee: TestClient) -> None:
    kept(register, empty())
    assert "Nobody has been fitted with a device yet." in words(trustee.get("/outcomes").text)
    kept(register, hidden().model_copy(update={"as_of": date(2026, 3, 31)}))
    said = words(trustee.get("/outcomes").text)
    assert "Cannot be told: Too few to tell of without picking somebody out." in said
    assert "None of these is large enough yet to be compared." in said
    assert "Nothing can be told: By age and By sex: Still worn, against everybody else" in said
    assert "Nothing can be told, for there are too few, of: By site" in said
    assert "Two comparisons that cannot be told yet" in said
    assert "fewer than 8" in said
    assert '<path class="median' not in trustee.get("/outcomes").text


def test_reports_of_past_years_stay_as_they_were(register: Register, trustee: TestClient) -> None:
    kept(register, rich(date(2024, 12, 31)), rich(), rich(date(2026, 3, 31)))
    newest = words(trustee.get("/outcomes").text)
    assert "up to 31 March 2026" in newest
    assert "Report of 2025" in newest
    assert "Report of 2024" in newest
    assert "Report of 2026" not in newest
    old = trustee.get("/outcomes/reports/2024").text
    assert "up to 31 December 2024" in words(old)
    assert 'href="/outcomes/reports/2024.pdf">Read it on paper' in old
    assert 'href="/outcomes/reports/2024.zip">Take the numbers away' in old


@pytest.mark.parametrize("year", ["2019", "0", "-3", "99999999999"])
def test_a_year_without_a_report_says_so(register: Register, trustee: TestClient, year: str) -> None:
    kept(register, rich())
    for ending in ("", ".pdf", ".zip"):
        answer = trustee.get(f"/outcomes/reports/{year}{ending}")
        assert answer.status_code == 404
        assert f"There is no report of {year}." in answer.text
    assert trustee.get("/outcomes/reports/last").status_code == 422


@pytest.mark.parametrize("key", sorted(DEFINITIONS))
def test_every_figure_opens_to_what_it_means(register: Register, trustee: TestClient, key: str) -> None:
    kept(register, rich())
    said = words(trustee.get(f"/outcomes/figures/{key}").text)
    for part in ("title", "population", "denominator", "missing", "method"):
        assert getattr(DEFINITIONS[key], part) in said
    assert DEFINITIONS[key].title in words(trustee.get("/outcomes/figures").text)


def test_the_page_leads_to_the_definition_of_every_figure_on_it(register: Register, trustee: TestClient) -> None:
    kept(register, rich())
    page = trustee.get("/outcomes").text
    keys = {
        each.key
        for section in rich().sections
        for some in (section.figures, section.curves, section.comparisons, section.runs)
        for each in some
    }
    assert set(re.findall(r'href="/outcomes/figures/([^"]+)"', page)) == keys
    assert trustee.get("/outcomes/figures/wear.nothing").status_code == 404


def test_files_have_names_of_their_own(register: Register, trustee: TestClient) -> None:
    kept(register, rich(), rich(date(2026, 3, 31)))
    named = {
        path: trustee.get(path).headers["content-disposition"]
        for path in (
            "/outcomes/latest.pdf",
            "/outcomes/latest.zip",
            "/outcomes/reports/2025.pdf",
            "/outcomes/reports/2025.zip",
        )
    }
    assert [each.partition("filename=")[2].strip('"') for each in named.values()] == [
        "outcomes-2026-03-31.pdf",
        "outcomes-2026-03-31.zip",
        "outcomes-2025.pdf",
        "outcomes-2025.zip",
    ]
    answer = trustee.get("/outcomes/reports/2025.zip")
    assert answer.headers["content-type"] == "application/zip"
    with ZipFile(BytesIO(answer.content)) as packed:
        assert "datapackage.json" in packed.namelist()
