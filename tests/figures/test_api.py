"""Figures over HTTP: who may see them, how they are made, and that they stay as they were."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.actor import SYSTEM
from service.access.permissions import PEOPLE, Role
from service.access.work import Work
from service.audit.tables import AuditRow
from service.devices.rules import EndReason
from service.disclosure import Rule
from service.figures.actions import keep_sheet
from service.figures.compiling import sheet
from service.figures.jobs import SHEETS_MAKE
from service.figures.tables import SheetRow
from service.kit.jobs import enqueue
from tests.conftest import Register
from tests.figures.registers import UNTIL, facts
from tests.figures.rows import Writer

FIGURE = {"key", "of", "unit", "value", "low", "high", "n", "suppressed", "method", "as_of", "why"}
SECTIONS = ("wear", "durability", "waits", "safety", "costs", "fit", "fairness", "change")


@pytest.fixture
def told(register: Register) -> Register:
    """A register with one sheet of drawn facts."""
    made = sheet(facts(3), Rule(), datetime(2026, 1, 20, tzinfo=UTC))
    with register.db.writing() as session:
        keep_sheet(Work(session, SYSTEM, register.clock()), made)
    return register


def make_sheets(register: Register) -> None:
    with register.db.writing() as session:
        enqueue(session, SHEETS_MAKE, now=register.clock(), key=SHEETS_MAKE)
    register.run_jobs()


def figures(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return [*answer.get("figures", []), *answer.get("section", {}).get("figures", [])]


def test_trustees_and_who_runs_a_site_may_see_them_others_not(told: Register) -> None:
    allowed = {role for role in PEOPLE if told.api(role).get("/api/v1/outcomes/summary").status_code == 200}
    assert allowed == {Role.TRUSTEE, Role.COORDINATOR, Role.CLINICIAN, Role.SAFEGUARDING_LEAD}
    assert told.browser().get("/api/v1/outcomes/summary").status_code == 401


@pytest.mark.parametrize("name", SECTIONS)
def test_each_section_is_answered_with_figures_of_one_shape(told: Register, name: str) -> None:
    answer = told.api(Role.TRUSTEE).get(f"/api/v1/outcomes/{name}").json()
    assert answer["as_of"] == UNTIL.isoformat()
    assert answer["section"]["lead"]
    for each in figures(answer):
        assert each.keys() == FIGURE
        between = [end for end in (each["low"], each["value"], each["high"]) if end is not None]
        assert between == sorted(between)
        assert not (each["suppressed"] and each["value"] is not None)


def test_the_headlines_are_of_all_years_or_of_a_whole_one(told: Register) -> None:
    trustee = told.api(Role.TRUSTEE)
    everything = trustee.get("/api/v1/outcomes/summary").json()
    assert {each["of"] for each in everything["figures"]} == {"everybody"}
    of_year = trustee.get("/api/v1/outcomes/summary", params={"from": "2025-01-01", "to": "2025-12-31"}).json()
    assert of_year["year"] == 2025
    assert {each["of"] for each in of_year["figures"]} == {"2025"}


@pytest.mark.parametrize(
    "period",
    [
        {"from": "2025-01-01"},
        {"from": "2025-01-01", "to": "2025-12-30"},
        {"from": "2025-02-01", "to": "2025-02-28"},
        {"from": "2024-01-01", "to": "2025-12-31"},
        {"from": "never", "to": "2025-12-31"},
    ],
)
def test_a_period_that_could_be_subtracted_is_refused_with_what_to_do(told: Register, period: dict[str, str]) -> None:
    answer = told.api(Role.TRUSTEE).get("/api/v1/outcomes/summary", params=period)
    assert answer.status_code == 422
    assert "year" in answer.text


def test_a_year_without_a_report_is_not_found_and_says_which_there_are(told: Register) -> None:
    trustee = told.api(Role.TRUSTEE)
    assert trustee.get("/api/v1/outcomes/reports/2025").json()["as_of"] == "2025-12-31"
    for year in ("2024", "1", "99999", "-3"):
        assert trustee.get(f"/api/v1/outcomes/reports/{year}").status_code == 404, year


def test_before_the_first_sheet_there_is_nothing_and_it_is_said(register: Register) -> None:
    answer = register.api(Role.TRUSTEE).get("/api/v1/outcomes/wear")
    assert answer.status_code == 404
    assert "No figures have been worked out yet" in answer.json()["detail"]


def test_sheets_are_made_by_the_daily_job_once_and_stay_as_they_were(register: Register) -> None:
    with register.db.writing() as session:
        write = Writer(session, register.sites["harbour"])
        for number in range(12):
            device = write.device(write.person(), date(2024, 3, 1) + timedelta(days=9 * number))
            write.socket(device, date(2024, 3, 1) + timedelta(days=9 * number))
    make_sheets(register)
    trustee = register.api(Role.TRUSTEE)
    report = trustee.get("/api/v1/outcomes/reports/2024").json()
    (served,) = [each for each in report["sections"][0]["figures"] if each["of"] == "everybody"]
    assert (served["value"], served["n"]) == (10, 10)
    with register.db.writing() as session:
        write = Writer(session, register.sites["island"])
        for _ in range(20):
            write.socket(write.device(write.person(), date(2024, 6, 1)), date(2024, 6, 1))
    make_sheets(register)
    assert trustee.get("/api/v1/outcomes/reports/2024").json() == report
    with register.db.reading() as session:
        days = session.scalars(sa.select(SheetRow.until).order_by(SheetRow.until)).all()
    assert days == [date(2024, 12, 31), date(2025, 12, 31)]


@pytest.mark.parametrize("statement", ["UPDATE figure_sheets SET method = '0'", "DELETE FROM figure_sheets"])
def test_the_database_itself_lets_nobody_alter_what_was_told(told: Register, statement: str) -> None:
    with pytest.raises(sa.exc.DBAPIError, match="never changed or removed"), told.db.writing() as session:
        session.connection().exec_driver_sql(statement)


def test_exact_figures_are_a_coordinators_of_their_own_sites_and_each_look_is_on_record(register: Register) -> None:
    with register.db.writing() as session:
        for site in ("harbour", "island"):
            write = Writer(session, register.sites[site])
            for _ in range(3):
                write.socket(write.device(write.person(), date(2025, 6, 1)), date(2025, 6, 1))
    allowed = {role for role in PEOPLE if register.api(role).get("/api/v1/outcomes/exact").status_code == 200}
    assert allowed == {Role.COORDINATOR}
    (people, *_) = register.api(Role.COORDINATOR).get("/api/v1/outcomes/exact").json()["sections"]
    assert people["figures"][0]["value"] == 3
    with register.db.reading() as session:
        looks = session.scalars(sa.select(AuditRow).where(AuditRow.subject == "exact figures")).all()
    assert [each.act for each in looks] == ["read", "read"]


def spare_kit(client: TestClient, **asked: Any) -> list[dict[str, Any]]:
    return list(client.get("/api/v1/outcomes/spares", params=asked).json()["items"])


def test_a_spares_kit_is_larger_for_what_breaks_more(register: Register) -> None:
    since = date(2025, 1, 1)
    with register.db.writing() as session:
        write = Writer(session, register.sites["harbour"])
        weak, strong = write.version("Finger", 1), write.version("Palm", 1)
        device = write.device(write.person(), since)
        for _ in range(4):
            write.stay(write.part(weak), device, since)
            write.stay(write.part(strong), device, since)
        for _ in range(30):
            other = write.device(write.person(), since)
            write.stay(write.part(weak), other, since, since + timedelta(days=90), EndReason.BROKEN)
            write.stay(write.part(strong), other, since)
    coordinator = register.api(Role.COORDINATOR)
    count = {each["design"]: each["count"] for each in spare_kit(coordinator, device=device)}
    assert count["Finger"] > count["Palm"] >= 0
    sooner = {each["design"]: each["count"] for each in spare_kit(coordinator, device=device, months=1)}
    surer = {each["design"]: each["count"] for each in spare_kit(coordinator, device=device, service_level=0.999)}
    assert sooner["Finger"] < count["Finger"] < surer["Finger"]
    assert {each["design"] for each in spare_kit(coordinator)} == {"Finger", "Palm"}
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    assert elsewhere.get("/api/v1/outcomes/spares", params={"device": device}).status_code == 404
    assert spare_kit(elsewhere) == []
    for wrong in ({"months": 0}, {"months": 400}, {"service_level": 1}, {"device": "x"}):
        assert coordinator.get("/api/v1/outcomes/spares", params=wrong).status_code == 422


def test_a_report_is_taken_away_as_paper_and_as_files(told: Register) -> None:
    trustee = told.api(Role.TRUSTEE)
    paper = trustee.get("/api/v1/outcomes/reports/2025.pdf")
    assert (paper.headers["content-type"], paper.content[:5]) == ("application/pdf", b"%PDF-")
    files = trustee.get("/api/v1/outcomes/reports/2025.zip")
    assert (files.headers["content-type"], files.content[:2]) == ("application/zip", b"PK")
    assert trustee.get("/api/v1/outcomes/reports/2025.zip").content == files.content
    for name in ("2019.pdf", "2019.zip"):
        assert trustee.get(f"/api/v1/outcomes/reports/{name}").status_code == 404
    assert told.api(Role.VOLUNTEER).get("/api/v1/outcomes/reports/2025.pdf").status_code == 403


def test_quarters_before_the_first_request_are_not_quarters_in_which_nobody_asked(register: Register) -> None:
    with register.db.writing() as session:
        write = Writer(session, register.sites["harbour"])
        for quarter in range(6):
            for _ in range(9):
                on = date(2024, 8, 1) + timedelta(days=91 * quarter)
                write.request(write.person(), on, on + timedelta(days=10))
    make_sheets(register)
    change = register.api(Role.TRUSTEE).get("/api/v1/outcomes/change").json()["section"]
    (asked, *_) = change["runs"]
    assert asked["quarters"] == ["2024 Q3", "2024 Q4", "2025 Q1", "2025 Q2", "2025 Q3", "2025 Q4"]
    assert asked["values"] == [10] * 6
    assert "12" in asked["why"]
