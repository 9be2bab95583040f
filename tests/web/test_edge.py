"""The edge: bodies, origins, tokens, keys, and the two kinds of session."""

from __future__ import annotations

import threading
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

from service.access.permissions import Role
from service.accounts.tables import SiteRow
from service.recipients.tables import RecipientRow
from tests.conftest import Register
from tests.recipients.test_api import INES

AT = "/api/v1/recipients"


def count(register: Register) -> int:
    with register.db.reading() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(RecipientRow)) or 0


def test_a_reading_session_cannot_write(register: Register) -> None:
    with register.db.reading() as session, pytest.raises(DBAPIError):
        session.execute(sa.insert(SiteRow).values(code="x", name="X", lead_days=1, note=""))


def test_a_writing_session_that_fails_leaves_nothing(register: Register) -> None:
    def half_written() -> None:
        with register.db.writing() as session:
            session.execute(sa.insert(SiteRow).values(code="half", name="Half", lead_days=1, note=""))
            raise KeyError

    with pytest.raises(KeyError):
        half_written()
    with register.db.reading() as session:
        assert session.scalar(sa.select(SiteRow.id).where(SiteRow.code == "half")) is None


@pytest.mark.parametrize("token", [None, "", "wrong", "Bearer", "Basic dXNlcjpwYXNz"])
def test_without_a_valid_token_the_api_says_so(register: Register, token: str | None) -> None:
    headers = {} if token is None else {"Authorization": token if " " in token else f"Bearer {token}"}
    answer = register.browser().get(AT, headers=headers)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    assert answer.headers["content-type"] == "application/problem+json"


def test_a_page_sends_whoever_is_not_signed_in_to_sign_in(register: Register) -> None:
    answer = register.browser().get("/recipients")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in?next=/recipients")


HUGE = b'{"given_name": "' + b"A" * 10_000_000 + b'"}'


@pytest.mark.parametrize("pieces", [1, 2], ids=["length declared", "streamed"])
def test_a_huge_body_is_refused_and_not_stored(register: Register, pieces: int) -> None:
    content: Any = HUGE if pieces == 1 else iter([HUGE[:5_000_000], HUGE[5_000_000:]])
    answer = register.api(Role.COORDINATOR).post(AT, content=content, headers={"Content-Type": "application/json"})
    assert answer.status_code == 413
    assert "2 MB" in answer.json()["detail"]
    assert count(register) == 0


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"", 422),
        (b"{", 400),
        (b"[]", 422),
        (b"null", 422),
        (b'"text"', 422),
        (b"\xff\xfe", 400),
        (b'{"given_name": NaN}', 422),
        (b"[" * 100_000, 400),
    ],
)
def test_a_body_that_is_no_command_is_refused_in_words(register: Register, body: bytes, status: int) -> None:
    answer = register.api(Role.COORDINATOR).post(AT, content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == status, answer.text
    assert answer.json()["detail"].startswith("Nothing was stored.")


def test_what_was_typed_is_not_echoed(register: Register) -> None:
    answer = register.api(Role.COORDINATOR).post(AT, json={**INES, "sex": "a-private-word"})
    assert answer.status_code == 422
    assert "a-private-word" not in answer.text


def test_an_unknown_address_and_a_wrong_method_are_problems_too(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    assert client.get("/api/v1/nothing").json()["status"] == 404
    assert client.put(AT, json={}).json()["status"] == 405
    page = register.browser().get("/nothing")
    assert page.status_code == 404
    assert "<h1>" in page.text


def test_every_answer_carries_the_safe_headers(register: Register) -> None:
    for path in ("/sign-in", "/api/v1/recipients", "/static/handspan.css", "/nothing"):
        headers = register.browser().get(path).headers
        assert "default-src 'self'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"


def test_two_at_once_with_one_key_are_done_once(register: Register) -> None:
    account = register.account(Role.COORDINATOR)
    clients = [register.api(account=account) for _ in range(4)]
    answers = []

    def send(client: Any) -> None:
        answers.append(client.post(AT, json=INES, headers={"Idempotency-Key": "once"}))

    threads = [threading.Thread(target=send, args=(client,)) for client in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [answer.status_code for answer in answers] == [201] * 4
    assert len({answer.json()["case_number"] for answer in answers}) == 1
    assert count(register) == 1


def test_a_refused_request_does_not_use_its_key_up(register: Register) -> None:
    client, key = register.api(Role.COORDINATOR), {"Idempotency-Key": "retry"}
    assert client.post(AT, json={**INES, "birth_date": "2050-01-01"}, headers=key).status_code == 422
    assert client.post(AT, json=INES, headers=key).status_code == 201


def test_a_key_is_its_owners(register: Register) -> None:
    key = {"Idempotency-Key": "shared"}
    numbers = {register.api(Role.COORDINATOR).post(AT, json=INES, headers=key).json()["case_number"] for _ in range(2)}
    assert len(numbers) == 2


def test_a_key_is_not_answered_to_somebody_whose_roles_have_changed(register: Register) -> None:
    account = register.account(Role.COORDINATOR, Role.ADMINISTRATOR)
    client, key = register.api(account=account), {"Idempotency-Key": "mine"}
    assert client.post(AT, json=INES, headers=key).status_code == 201
    assert client.patch(f"/api/v1/accounts/{account}", json={"roles": ["administrator"]}).status_code == 200
    assert client.post(AT, json=INES, headers=key).status_code == 422


def test_the_day_is_that_of_the_registers_time_zone(register: Register) -> None:
    register.clock.now = datetime(2026, 3, 3, 9, 30, tzinfo=ZoneInfo("Pacific/Auckland"))
    client = register.api(Role.COORDINATOR)
    number = client.post(AT, json=INES).json()["case_number"]
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [171.0], "unit": "mm"}
    session = {"taken_on": "2026-03-03", "method": "tape", "readings": [reading]}
    assert client.post(f"{AT}/{number}/measurements", json=session).status_code == 201


@pytest.mark.parametrize("path", ["/api/v1/recipients?q=%00", "/recipients?q=a%00", "/api/v1/recipients/%00"])
def test_a_nul_in_an_address_is_refused(register: Register, path: str) -> None:
    assert register.api(Role.COORDINATOR).get(path).status_code == 400


def test_who_asks_comes_before_what_is_wrong_with_it(register: Register) -> None:
    assert register.browser().post(AT, json={}).status_code == 401
    assert register.browser().post(AT, json={}, headers={"Authorization": "Bearer wrong"}).status_code == 401


def test_a_key_that_is_no_key_is_refused(register: Register) -> None:
    answer = register.api(Role.COORDINATOR).post(AT, json=INES, headers={"Idempotency-Key": "k" * 500})
    assert answer.status_code == 422


def test_the_service_says_it_is_up(register: Register) -> None:
    assert register.browser().get("/health").json() == {"status": "up"}
