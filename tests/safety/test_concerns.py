"""A concern reaches the safeguarding lead of its site and nobody else, and leaves no trace anywhere."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from service.audit.tables import AuditRow
from service.kit.db import Base
from service.safety.tables import ConcernRow
from tests.accounts.people import AT_HOME, form_token, open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import count, made, opened

WORDS = "He asked the child to keep a secret from her mother."
CONCERN = {"about": "A volunteer", "words": WORDS, "reach": "Ring me after six."}


@pytest.fixture
def lead(register: Register) -> TestClient:
    return register.api(Role.SAFEGUARDING_LEAD)


@pytest.mark.parametrize("role", PEOPLE)
def test_everybody_may_raise_one_and_the_lead_alone_reads(register: Register, lead: TestClient, role: Role) -> None:
    client = register.api(role)
    taken = made(client, "concerns", CONCERN)
    assert set(taken) == {"said"}
    (found,) = lead.get("/api/v1/concerns").json()["items"]
    assert (found["words"], found["raised_by"], found["read_at"]) == (WORDS, role.label, None)
    if role is not Role.SAFEGUARDING_LEAD:
        for path in ("concerns", f"concerns/{found['id']}"):
            assert client.get(f"/api/v1/{path}").status_code == 403
        assert client.post(f"/api/v1/concerns/{found['id']}/close", json={"outcome": "x"}).status_code == 403
    elsewhere = register.api(Role.SAFEGUARDING_LEAD, sites=("island",))
    assert elsewhere.get("/api/v1/concerns").json()["items"] == []
    assert elsewhere.get(f"/api/v1/concerns/{found['id']}").status_code == 404


def rows(register: Register) -> dict[str, list[Any]]:
    """Everything in the register but the concerns themselves."""
    with register.db.reading() as session:
        return {
            table.name: [tuple(row) for row in session.execute(sa.select(table))]
            for table in Base.metadata.sorted_tables
            if table.name != ConcernRow.__tablename__
        }


def test_a_concern_leaves_no_trace(register: Register, lead: TestClient) -> None:
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)
    before = rows(register)
    made(coordinator, "concerns", {**CONCERN, "case_number": number})
    assert rows(register) == before
    (found,) = lead.get("/api/v1/concerns").json()["items"]
    assert found["case_number"] == number
    assert lead.get(f"/api/v1/concerns/{found['id']}").status_code == 200
    closed = lead.post(f"/api/v1/concerns/{found['id']}/close", json={"outcome": "Passed on."}).json()
    assert closed["read_at"] is not None
    assert closed["outcome"] == "Passed on."
    assert rows(register) == before
    again = lead.post(f"/api/v1/concerns/{found['id']}/close", json={"outcome": "Else."})
    assert again.status_code == 409
    case = coordinator.get(f"/api/v1/recipients/{number}").text
    assert "secret" not in case


def test_a_key_keeps_no_words_of_a_concern(register: Register) -> None:
    volunteer = register.api(Role.VOLUNTEER)
    for _ in range(2):
        answer = volunteer.post("/api/v1/concerns", json=CONCERN, headers={"Idempotency-Key": "worry"})
        assert answer.status_code == 201
    assert count(register, ConcernRow) == 1
    with register.db.reading() as session:
        kept = [
            str(row)
            for table in Base.metadata.sorted_tables
            for row in session.execute(sa.select(table))
            if table.name != ConcernRow.__tablename__
        ]
    assert not [row for row in kept if "secret from" in row]


def test_it_does_not_tell_whether_there_is_such_a_case(register: Register, lead: TestClient) -> None:
    number = opened(register.api(Role.COORDINATOR))
    stranger = register.api(Role.VOLUNTEER)
    answers = [
        stranger.post("/api/v1/concerns", json={**CONCERN, "case_number": said}).json()
        for said in (number, "482-9130", "no number")
    ]
    assert answers[0] == answers[1] == answers[2]
    found = lead.get("/api/v1/concerns").json()["items"]
    assert [each["case_number"] for each in found] == [None, None, None]
    assert number in found[-1]["about"]


def test_what_says_nothing_is_refused(register: Register) -> None:
    volunteer = register.api(Role.VOLUNTEER)
    for change in ({"words": " "}, {"about": ""}, {"site": "island"}):
        assert volunteer.post("/api/v1/concerns", json={**CONCERN, **change}).status_code == 422
    assert count(register, ConcernRow) == 0


def test_the_pages_of_a_concern(register: Register) -> None:
    open_account(register, Role.TRUSTEE, email="trustee@example.org")
    trustee = signed_in(register, "trustee@example.org")
    assert "/concerns/new" in trustee.get("/account").text
    empty = post(trustee, "/concerns/new", {"about": "A volunteer", "words": ""})
    assert empty.status_code == 422
    assert 'value="A volunteer"' in empty.text
    said = post(trustee, "/concerns/new", CONCERN)
    assert said.status_code == 201
    assert "Only the safeguarding lead reads it" in said.text
    assert WORDS not in said.text
    assert trustee.get("/concerns").status_code == 403

    open_account(register, Role.SAFEGUARDING_LEAD, email="lead@example.org")
    lead = signed_in(register, "lead@example.org")
    listed = lead.get("/concerns").text
    assert "One concern has not been read yet." in listed
    with register.db.reading() as session:
        page = f"/concerns/{session.scalars(sa.select(ConcernRow.id)).one()}"
    opened_page = lead.get(page)
    assert WORDS in opened_page.text
    assert "Every concern has been read." in lead.get("/concerns").text
    fields = {"form_token": form_token(opened_page), "outcome": "Passed on."}
    assert lead.post(page, data=fields, headers=AT_HOME).status_code == 303
    assert "Passed on." in lead.get(page).text
    with register.db.reading() as session:
        subjects = set(session.scalars(sa.select(AuditRow.subject)))
    assert "concern" not in subjects
