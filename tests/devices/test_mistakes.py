"""Sock reports on the day of a change, and sockets and reports that were recorded by mistake, over HTTP."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import GIRTH, device, made, opened, socket

TODAY = "2026-03-02"
BARE_AND_TIGHT = {"on": TODAY, "plies": [], "fit": "tight"}
WIDER = {**GIRTH, "tight_at_mm": 205.5}


class Worn:
    """An everyday device with a socket in place since January, and what its forecast says."""

    def __init__(self, register: Register) -> None:
        self.register = register
        account = open_account(register, Role.COORDINATOR)
        self.api = register.api(account=account)
        self.browser: TestClient = signed_in(register)
        self.number = opened(self.api)
        self.device = device(self.api, self.number)
        self.first = socket(self.api, self.number, self.device, "2026-01-12")
        self.page = f"/recipients/{self.number}/devices/{self.device}"

    def renewed(self, fitted_on: str = TODAY, reason: str = "outgrown", **more: Any) -> int:
        previous = {"end_reason": reason, "note": "Typed in for somebody else." if reason == "mistake" else ""}
        return socket(self.api, self.number, self.device, fitted_on, [WIDER], previous=previous, **more)

    def report(self, **changes: Any) -> dict[str, Any]:
        return made(self.api, f"recipients/{self.number}/sock-reports", {**BARE_AND_TIGHT, **changes})

    def reports(self) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = self.api.get(f"/api/v1/recipients/{self.number}/sock-reports").json()["items"]
        return found

    def forecast(self) -> dict[str, Any]:
        self.register.run_jobs()
        (found,) = self.api.get(f"/api/v1/recipients/{self.number}/forecasts").json()["items"]
        return {name: found[name] for name in ("socket", "due", "already", "within")}

    def end(self, of_socket: int, **body: Any) -> Any:
        return self.api.post(f"/api/v1{self.page}/sockets/{of_socket}/end", json=body)

    def put_back(self, of_socket: int) -> Any:
        return self.api.post(f"/api/v1{self.page}/sockets/{of_socket}/put-back", json={"why": "Still worn."})

    def sockets(self) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = self.api.get(f"/api/v1{self.page}").json()["sockets"]
        return found


@pytest.fixture
def worn(register: Register) -> Worn:
    return Worn(register)


def test_a_report_on_the_day_of_the_change_counts_for_the_socket_it_was_made_for(worn: Worn) -> None:
    report = worn.report()
    second = worn.renewed()
    moved = worn.forecast()
    assert report["socket"] == worn.reports()[0]["socket"] == worn.first
    assert "last worn" not in worn.browser.get(f"/recipients/{worn.number}").text
    assert "in a socket before" in worn.browser.get(worn.page).text

    later = worn.report()  # the same words again, but of the new socket
    assert later["socket"] == second
    assert worn.forecast()["already"] > moved["already"]
    assert "last worn" in worn.browser.get(f"/recipients/{worn.number}").text


def test_a_change_recorded_late_takes_the_reports_of_the_days_since(worn: Worn) -> None:
    before, on_the_day, after = (worn.report(on=day) for day in ("2026-02-09", "2026-02-10", "2026-02-11"))
    second = worn.renewed("2026-02-10")
    sockets = {each["id"]: each["socket"] for each in worn.reports()}
    assert sockets == {before["id"]: worn.first, on_the_day["id"]: worn.first, after["id"]: second}


def test_a_mistaken_socket_counts_no_more_and_the_one_before_is_put_back(worn: Worn) -> None:
    untouched = worn.forecast()
    wrong = worn.renewed()
    worn.report()
    assert worn.put_back(worn.first).status_code == 409, "another is in place"

    unsaid = worn.end(wrong, end_reason="mistake")
    assert (unsaid.status_code, unsaid.json()["errors"][0]["field"]) == (422, "note")
    struck = worn.end(wrong, end_reason="mistake", note="It is her brother's.").json()
    assert (struck["end_reason"], struck["end_note"], struck["ended_on"]) == ("mistake", "It is her brother's.", TODAY)
    assert struck["ended_by"] == "Ines Duarte"
    assert worn.api.get(f"/api/v1/recipients/{worn.number}/forecasts").json()["items"] == []
    assert worn.end(wrong, end_reason="mistake", note="Again.").status_code == 409
    assert worn.put_back(wrong).status_code == 409, "what was a mistake is recorded anew"

    shown = worn.browser.get(worn.page).text
    assert "It is her brother&#39;s." in shown
    assert "<s>Fitted on" in shown
    assert "<s><span" in shown, "its sizes too"
    assert f"{worn.first}/put-back" in shown

    back = worn.put_back(worn.first).json()
    assert (back["ended_on"], back["end_reason"], back["ended_by"]) == (None, None, None)
    assert worn.reports()[0]["socket"] == worn.first, "what was worn that day was this one"
    assert worn.forecast()["socket"] == untouched["socket"]
    assert worn.forecast()["already"] > untouched["already"]


def test_the_right_socket_takes_the_place_and_the_reports_of_a_mistaken_one(worn: Worn) -> None:
    wrong = worn.renewed("2026-02-10")
    report = worn.report(on="2026-02-10")
    assert report["socket"] == wrong
    right = worn.renewed("2026-02-10", "mistake")
    assert worn.reports()[0]["socket"] == right
    assert [(each["id"], each["end_reason"]) for each in worn.sockets()] == [
        (right, None),
        (wrong, "mistake"),
        (worn.first, "outgrown"),
    ]
    form = worn.browser.get(f"{worn.page}/sockets/new").text
    assert f"{WIDER['tight_at_mm']:.1f} mm on the socket before" in form


def test_a_socket_that_came_off_long_ago_can_still_have_been_a_mistake(worn: Worn) -> None:
    worn.renewed("2026-02-10")
    assert worn.end(worn.first, end_reason="broken").status_code == 409
    page = f"{worn.page}/sockets/{worn.first}/end"
    fields = {"end_reason": "mistake", "note": "She wore none then."}
    assert post(worn.browser, page, fields).headers["location"] == f"{worn.page}?done=socket-struck"
    assert worn.sockets()[1]["end_reason"] == "mistake"
    with worn.register.db.reading() as session:
        struck = session.scalars(sa.select(AuditRow.changes).where(AuditRow.act == "struck")).one()
    assert struck["ended_on"] == ["2026-02-10", TODAY], "the day it came off is not lost"
    assert worn.end(worn.sockets()[0]["id"], end_reason="broken").status_code == 200


def test_a_socket_comes_off_by_mistake_and_is_put_back_through_its_page(worn: Worn) -> None:
    assert worn.end(worn.first, end_reason="preference").status_code == 200
    shown = worn.browser.get(worn.page).text
    assert "came off on" in shown
    assert "the wearer&#39;s preference" in shown
    page = f"{worn.page}/sockets/{worn.first}/put-back"
    assert 'href="#why"' in post(worn.browser, page, {"why": ""}).text
    done = post(worn.browser, page, {"why": "It was the swimming socket."})
    assert done.headers["location"] == f"{worn.page}?done=socket-put-back"
    assert worn.sockets()[0]["ended_on"] is None
    assert worn.put_back(worn.first).status_code == 409, "it is in place already"


def test_a_socket_that_another_followed_is_not_put_back(worn: Worn) -> None:
    second = worn.renewed("2026-02-10")
    worn.end(second, end_reason="broken")
    refused = worn.put_back(worn.first)
    assert refused.status_code == 409
    assert "came after" in refused.json()["detail"]


def test_a_wrong_report_is_struck_through_with_who_and_why(worn: Worn) -> None:
    untouched = worn.forecast()
    report = worn.report()
    assert worn.forecast() != untouched
    page = f"/recipients/{worn.number}/socks/{report['id']}/strike"
    assert f'href="{page}"' in worn.browser.get(f"/recipients/{worn.number}/socks").text
    assert 'href="#why"' in post(worn.browser, page, {}).text
    assert post(worn.browser, page, {"why": "The other arm."}).headers["location"] == f"{worn.page}?done=socks-struck"
    struck = worn.reports()[0]["struck"]
    assert (struck["by"], struck["why"]) == ("Ines Duarte", "The other arm.")
    assert worn.forecast() == untouched
    assert "<s>no sock, tight</s>" in worn.browser.get(worn.page).text
    assert "last worn" not in worn.browser.get(f"/recipients/{worn.number}").text
    again = worn.api.post(f"/api/v1/recipients/{worn.number}/sock-reports/{report['id']}/strike", json={"why": "x"})
    assert again.status_code == 409
    assert worn.report()["struck"] is None, "the same can be reported again"


def test_a_report_of_another_case_is_not_found(register: Register, worn: Worn) -> None:
    report = worn.report()["id"]
    other = opened(worn.api)
    strike = {"why": "x"}
    assert worn.api.post(f"/api/v1/recipients/{other}/sock-reports/{report}/strike", json=strike).status_code == 404
    trustee = register.api(Role.TRUSTEE)
    assert (
        trustee.post(f"/api/v1/recipients/{worn.number}/sock-reports/{report}/strike", json=strike).status_code == 403
    )


@pytest.mark.postgres  # SQLite lets one writer in at a time, whatever is locked
def test_of_four_who_strike_a_report_at_once_one_does(worn: Worn) -> None:
    report = worn.report()
    where = f"/api/v1/recipients/{worn.number}/sock-reports/{report['id']}/strike"
    strikers = [worn.register.api(Role.COORDINATOR) for _ in range(4)]
    with ThreadPoolExecutor(len(strikers)) as pool:
        answers = list(pool.map(lambda each: each[1].post(where, json={"why": f"why {each[0]}"}), enumerate(strikers)))
    assert sorted(answer.status_code for answer in answers) == [200, 409, 409, 409]
    (done,) = [answer.json() for answer in answers if answer.status_code == 200]
    assert worn.reports()[0]["struck"] == done["struck"]
    with worn.register.db.reading() as session:
        struck = session.scalars(
            sa.select(AuditRow.changes).where(AuditRow.subject == "sock report", AuditRow.act == "struck")
        )
        assert [each["why"][1] for each in struck] == [done["struck"]["why"]]
