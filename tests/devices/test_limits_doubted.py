"""Sockets that cannot be, or would be surprising, and what the form offers so that they are rarer. Over HTTP."""

from __future__ import annotations

import re
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.devices.tables import LimitRow, SocketRow
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import GIRTH, LENGTH, count, device, made, opened, socket
from tests.measurements.taken import girth, taken

AT_30 = {"dimension": "residual_limb_girth", "level_mm": 30}


class Case:
    """A child of seven whose limb measured 141 mm at 30 mm yesterday, and a device without a socket."""

    def __init__(self, register: Register) -> None:
        self.register = register
        account = open_account(register, Role.COORDINATOR)
        self.api = register.api(account=account)
        self.browser: TestClient = signed_in(register)
        self.number = opened(self.api)
        taken(self.api, self.number, girth(141, level_mm=30), taken_on="2026-03-01")
        self.device = device(self.api, self.number)
        self.sockets = f"recipients/{self.number}/devices/{self.device}/sockets"
        self.form = f"/{self.sockets}/new"

    def send(self, limit: dict[str, Any], fitted_on: str = "2026-03-02", **more: Any) -> Any:
        return self.api.post(f"/api/v1/{self.sockets}", json={"fitted_on": fitted_on, "limits": [limit], **more})

    def filled(self, browser_page: Any) -> dict[str, str]:
        """What the form offers, by field."""
        return dict(re.findall(r'name="(limits\.\d+\.[a-z_]+)"[^>]*? value="([^"]*)"', browser_page.text))


@pytest.fixture
def case(register: Register) -> Case:
    return Case(register)


@pytest.mark.parametrize(("typed", "meant"), [(1420, "142.0 mm"), (14.2, "14.2 cm (142.0 mm)")])
def test_a_size_that_no_limb_has_is_refused_with_the_likely_slip(case: Case, typed: float, meant: str) -> None:
    refused = case.send({**AT_30, "tight_at_mm": typed}, confirmed=True)
    assert refused.status_code == 422
    (error,) = refused.json()["errors"]
    assert error["field"] == "limits.0.tight_at_mm"
    assert f"did you mean {meant}?" in error["message"]
    assert count(case.register, SocketRow) == 0


@pytest.mark.parametrize(
    ("limit", "field", "said"),
    [
        ({**AT_30, "tight_at_mm": 120}, "tight_at_mm", "less than the limb itself measured there: 141.0 mm on 1 March"),
        ({**AT_30, "tight_at_mm": 240}, "tight_at_mm", "far more than the limb measured there: 141.0 mm on 1 March"),
        ({**AT_30, "level_mm": 3, "tight_at_mm": 150}, "level_mm", "never measured at 3 mm, only at 30 mm"),
        ({"dimension": "epicondylar_breadth", "tight_at_mm": 110}, "tight_at_mm", "usual at 8 years"),
    ],
    ids=["smaller than the limb", "far larger", "a level far off", "far from the reference"],
)
def test_a_surprising_limit_is_stored_only_when_confirmed(
    case: Case, limit: dict[str, Any], field: str, said: str
) -> None:
    asked = case.send(limit)
    assert asked.status_code == 422
    (doubt,) = asked.json()["doubts"]
    assert doubt["field"] == f"limits.0.{field}"
    assert said in doubt["message"]
    assert count(case.register, SocketRow) == count(case.register, LimitRow) == 0
    stored = case.send(limit, confirmed=True)
    assert stored.status_code == 201
    assert stored.json()["limits"][0]["doubts"] == [doubt["message"]]
    assert "surprising, confirmed" in case.browser.get(f"/recipients/{case.number}/devices/{case.device}").text


@pytest.mark.parametrize(
    ("limit", "fitted_on"),
    [
        ({**AT_30, "tight_at_mm": 142}, "2026-03-02"),
        ({**AT_30, "tight_at_mm": 135}, "2026-03-02"),
        ({**AT_30, "tight_at_mm": 190}, "2026-03-02"),
        ({**AT_30, "level_mm": 34, "tight_at_mm": 150}, "2026-03-02"),
        ({**AT_30, "level_mm": 80, "tight_at_mm": 150}, "2026-03-02"),
        ({**AT_30, "tight_at_mm": 130}, "2024-03-02"),
        (LENGTH, "2026-03-02"),
    ],
    ids=[
        "as made",
        "as the tape errs",
        "roomy",
        "a level close by",
        "a level of the socket alone",
        "two years before the reading",
        "unmeasured",
    ],
)
def test_an_ordinary_limit_is_not_doubted(case: Case, limit: dict[str, Any], fitted_on: str) -> None:
    answer = case.send(limit, fitted_on)
    assert answer.status_code == 201, answer.text
    assert answer.json()["limits"][0]["doubts"] == []


def test_a_level_counted_from_another_landmark_says_nothing_about_this_one(case: Case) -> None:
    number = opened(case.api)
    taken(case.api, number, girth(150, level_mm=200, landmark="the acromion"), taken_on="2026-03-01")
    socket(case.api, number, device(case.api, number), limits=[GIRTH])


def test_the_form_asks_kindly_at_the_field_and_records_only_on_a_yes(case: Case) -> None:
    fields = {
        "fitted_on": "2026-03-02",
        "limits.1.dimension": "residual_limb_girth",
        "limits.1.level_mm": "30",
        "limits.1.tight_at_mm": "120",
        "note": "lined",
    }
    asked = post(case.browser, case.form, fields)
    assert asked.status_code == 422
    assert "Is this right?" in asked.text
    assert 'href="#limits.1.tight_at_mm"' in asked.text
    assert 'value="120"' in asked.text
    assert count(case.register, SocketRow) == 0
    assert post(case.browser, case.form, {**fields, "confirmed": "true"}).status_code == 303
    with case.register.db.reading() as session:
        assert session.scalars(sa.select(LimitRow.tight_at_mm)).all() == [120]


def test_the_form_offers_the_levels_that_were_measured_with_their_girths(case: Case) -> None:
    taken(case.api, case.number, girth(136, level_mm=62), taken_on="2026-02-20")
    taken(case.api, case.number, girth(120, level_mm=90), taken_on="2024-02-20")
    page = case.browser.get(case.form)
    offered = case.filled(page)
    assert [offered[f"limits.{row}.level_mm"] for row in range(3)] == ["30", "62", ""]
    assert {offered[f"limits.{row}.dimension"] for row in range(3)} == {"residual_limb_girth"}
    assert "the limb 141.0 mm on 1 March" in page.text
    assert "the limb 136.0 mm on 20 February" in page.text
    assert "lateral epicondyle</text>" in page.text, "the landmark is drawn"
    assert "counted from the lateral epicondyle" in page.text

    untouched = {**offered, "fitted_on": "2026-03-02"}
    assert "Type at least one size" in post(case.browser, case.form, untouched).text
    assert post(case.browser, case.form, {**untouched, "limits.1.tight_at_mm": "150"}).status_code == 303
    assert count(case.register, LimitRow) == 1


def test_the_form_offers_the_levels_of_the_socket_before_too(case: Case) -> None:
    socket(case.api, case.number, case.device, limits=[GIRTH], confirmed=True)
    page = case.browser.get(case.form)
    offered = case.filled(page)
    assert [offered[f"limits.{row}.level_mm"] for row in range(3)] == ["30", "60", ""]
    assert "190.5 mm on the socket before" in page.text


@pytest.mark.parametrize(
    ("typed", "stored"), [("162,8 mm", 162.8), ("16.3 cm", 163.0), ("162.8", 162.8)], ids=["comma", "cm", "bare"]
)
def test_a_unit_written_after_a_size_is_understood(case: Case, typed: str, stored: float) -> None:
    fields = {
        "fitted_on": "2026-03-02",
        "limits.0.dimension": "residual_limb_girth",
        "limits.0.level_mm": "30 mm",
        "limits.0.tight_at_mm": typed,
    }
    assert post(case.browser, case.form, fields).status_code == 303
    with case.register.db.reading() as session:
        assert session.execute(sa.select(LimitRow.level_mm, LimitRow.tight_at_mm)).all() == [(30, stored)]


def test_what_is_no_number_is_asked_for_with_an_example(case: Case) -> None:
    fields = {
        "fitted_on": "2026-03-02",
        "limits.0.dimension": "residual_limb_girth",
        "limits.0.level_mm": "abc",
        "limits.0.tight_at_mm": "162,8 furlongs",
    }
    refused = post(case.browser, case.form, fields).text
    assert refused.count("a number, such as 171.5") == 4, "twice in the summary, twice at the field"


def test_a_day_is_said_as_people_say_it(case: Case) -> None:
    fitted = socket(case.api, case.number, case.device, "2026-01-12", confirmed=True)
    early = {"ended_on": "2026-01-11", "end_reason": "broken"}
    refused = case.api.post(f"/api/v1/{case.sockets}/{fitted}/end", json=early).json()
    assert "before the socket was fitted, on 12 January 2026" in refused["errors"][0]["message"]
    again = case.api.post(f"/api/v1/{case.sockets}", json={"fitted_on": "2026-03-02", "limits": [LENGTH]}).json()
    assert "fitted on 12 January 2026" in again["detail"]
    made(case.api, f"recipients/{case.number}/sock-reports", {"on": "2026-02-02", "plies": [], "fit": "snug"})
