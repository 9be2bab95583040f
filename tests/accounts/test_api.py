"""The REST face: the own account, tokens, sites and, for administrators, accounts."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256

import pytest
import sqlalchemy as sa
from pydantic import ValidationError

from service.access.actor import SYSTEM
from service.access.credential import Credential
from service.access.permissions import PEOPLE, Role
from service.access.work import Work
from service.accounts import actions, queries, tables
from service.accounts.schemas import IssueToken
from service.kit.errors import Forbidden, Invalid, NotFound
from service.web.idempotency import AnswerRow
from tests.accounts.people import EMAIL, OTHER_PASSWORD, open_account, signed_in

BO = {
    "name": "Bo Lind",
    "email": "bo.lind@example.org",
    "roles": ["volunteer"],
    "sites": ["island"],
    "password": OTHER_PASSWORD,
}


def with_token(register, text):
    client = register.browser()
    client.headers["Authorization"] = f"Bearer {text}"
    return client


def issue(register, client, **fields):
    """A token for the account of an API client, as its owner gets one on the account page."""
    credential = Credential(token=client.headers["Authorization"].removeprefix("Bearer "))
    with register.db.writing() as session:
        owner = replace(queries.identify(session, credential, register.clock()), session_id=1)
        asked = IssueToken.model_validate({"name": "A program", **fields})
        return actions.issue_token(Work(session, owner, register.clock()), asked).model_dump(mode="json")


def test_me_says_who_and_with_which_roles(register):
    me = register.api(Role.TRUSTEE, Role.COORDINATOR, sites=("harbour", "island")).get("/api/v1/me").json()
    assert me["roles"] == ["coordinator", "trustee"]
    assert [site["code"] for site in me["sites"]] == ["harbour", "island"]


@pytest.mark.parametrize("header", [None, "", "Bearer", "Bearer ", "Bearer nobodys", "Basic eDp5", "bearer x y"])
def test_no_valid_token_is_nobody(register, header):
    client = register.browser()
    answer = client.get("/api/v1/me", headers={} if header is None else {"Authorization": header})
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    assert answer.headers["content-type"] == "application/problem+json"


def test_the_cookie_opens_pages_and_not_the_api(register):
    open_account(register)
    assert signed_in(register).get("/api/v1/me").status_code == 401


def test_a_token_lasts_ninety_days_unless_asked_otherwise(register):
    client = register.api(Role.VOLUNTEER)
    made = issue(register, client)
    assert datetime.fromisoformat(made["expires_at"]) == register.clock() + timedelta(days=90)
    program = with_token(register, made["token"])
    register.clock.forward(days=90, seconds=-1)
    assert program.get("/api/v1/me").status_code == 200
    register.clock.forward(seconds=1)
    assert program.get("/api/v1/me").status_code == 401
    assert made["id"] not in [each["id"] for each in client.get("/api/v1/tokens").json()["items"]]


def test_a_token_is_kept_only_as_a_hash_and_listed_without_its_text(register):
    client = register.api(Role.VOLUNTEER)
    text = issue(register, client)["token"]
    assert text not in client.get("/api/v1/tokens").text
    with register.db.reading() as session:
        assert text not in session.scalars(sa.select(tables.TokenRow.token_hash)).all()


def test_a_narrowed_token_acts_with_its_one_role_while_its_owner_holds_it(register):
    account = register.account(Role.COORDINATOR, Role.ADMINISTRATOR)
    owner = register.api(account=account)
    program = with_token(register, issue(register, owner, role="coordinator")["token"])
    assert program.get("/api/v1/me").json()["roles"] == ["coordinator"]
    assert program.get("/api/v1/accounts").status_code == 403
    assert owner.patch(f"/api/v1/accounts/{account}", json={"roles": ["administrator"]}).status_code == 200
    assert program.get("/api/v1/me").status_code == 401


def test_a_token_never_reaches_further_than_its_owner_and_issues_no_other(register):
    owner = register.api(Role.COORDINATOR, Role.VOLUNTEER)
    with pytest.raises(Invalid):
        issue(register, owner, role="administrator")
    assert owner.post("/api/v1/tokens", json={"name": "x"}).status_code == 405
    account = register.account(Role.VOLUNTEER)
    with register.db.writing() as session:
        by_token = Work(
            session, replace(SYSTEM, roles=frozenset({Role.VOLUNTEER}), account_id=account), register.clock()
        )
        with pytest.raises(Forbidden):
            actions.issue_token(by_token, IssueToken(name="x"))


def test_a_token_ends_once_and_for_all_and_only_by_its_owner(register):
    owner = register.api(Role.VOLUNTEER)
    made = issue(register, owner)
    path = f"/api/v1/tokens/{made['id']}"
    assert register.api(Role.ADMINISTRATOR).delete(path).status_code == 404
    ended = owner.delete(path)
    assert ended.status_code == 200
    register.clock.forward(hours=1)
    assert owner.delete(path).json() == ended.json()
    assert with_token(register, made["token"]).get("/api/v1/me").status_code == 401


@pytest.mark.parametrize("fields", [{"name": ""}, {"days": 0}, {"days": 4000}, {"role": "system"}, {"typo": 1}])
def test_a_token_that_cannot_be_is_refused(register, fields):
    with pytest.raises(ValidationError):
        issue(register, register.api(Role.VOLUNTEER), **fields)


def test_sites_are_ones_own_and_all_for_administrators(register):
    def codes(*roles):
        return {each["code"] for each in register.api(*roles).get("/api/v1/sites").json()["items"]}

    assert codes(Role.COORDINATOR) == {"harbour"}
    assert codes(Role.ADMINISTRATOR) == {"harbour", "island"}


def test_administrators_open_list_and_change_accounts(register):
    chief = register.api(Role.ADMINISTRATOR)
    opened = chief.post("/api/v1/accounts", json=BO)
    assert opened.status_code == 201
    assert "password" not in opened.text
    path = f"/api/v1/accounts/{opened.json()['id']}"
    changed = chief.patch(path, json={"sites": ["harbour", "island"], "name": "Bo Lindqvist"}).json()
    assert changed == {**opened.json(), "sites": ["harbour", "island"], "name": "Bo Lindqvist"}
    assert chief.get(path).json() == changed
    assert changed in chief.get("/api/v1/accounts").json()["items"]


def test_accounts_are_listed_a_page_at_a_time(register):
    chief = register.api(Role.ADMINISTRATOR)
    for name in ("Ada", "Bo", "Bo", "Cy"):
        register.account(Role.VOLUNTEER, name=name)
    names, cursor = [], None
    while True:
        page = chief.get("/api/v1/accounts", params={"limit": 2} | ({"cursor": cursor} if cursor else {})).json()
        names += [each["name"] for each in page["items"]]
        if (cursor := page["next"]) is None:
            break
    assert names == ["Ada", "Bo", "Bo", "Cy", "administrator"]
    assert chief.get("/api/v1/accounts", params={"cursor": "x"}).status_code == 422


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"email": "bo"}, "email"),
        ({"email": "bo\x00@example.org"}, "email"),
        ({"name": "Bo\x00"}, "name"),
        ({"roles": []}, "roles"),
        ({"roles": ["nobody"]}, "roles.0"),
        ({"sites": ["nowhere"]}, "sites"),
        ({"password": "eleven char"}, "password"),
        ({"password": "bo.lind 2026!"}, "password"),
        ({"password": "half a character \ud800"}, "password"),
        ({"closed": True}, "closed"),
    ],
)
def test_an_account_that_cannot_be_is_refused_and_nothing_is_kept(register, change, field):
    chief = register.api(Role.ADMINISTRATOR)
    body = json.dumps({**BO, **change})  # escapes what UTF-8 cannot say
    refused = chief.post("/api/v1/accounts", content=body, headers={"Content-Type": "application/json"})
    assert refused.status_code == 422, refused.text
    assert [each["field"] for each in refused.json()["errors"]] == [field]
    assert len(chief.get("/api/v1/accounts").json()["items"]) == 1


def test_an_address_that_is_taken_is_a_conflict(register):
    chief = register.api(Role.ADMINISTRATOR)
    first = chief.post("/api/v1/accounts", json=BO).json()
    assert chief.post("/api/v1/accounts", json={**BO, "email": "BO.LIND@example.org"}).status_code == 409
    other = chief.post("/api/v1/accounts", json={**BO, "email": EMAIL}).json()
    taken = chief.patch(f"/api/v1/accounts/{other['id']}", json={"email": first["email"], "name": "Bo Berg"})
    assert taken.status_code == 409
    assert chief.get(f"/api/v1/accounts/{other['id']}").json() == other


def test_a_site_with_a_code_in_use_is_a_conflict(register):
    chief = register.api(Role.ADMINISTRATOR)
    assert chief.post("/api/v1/sites", json={"code": "quay", "name": "Quay"}).json()["lead_days"] == 28
    assert chief.post("/api/v1/sites", json={"code": "QUAY", "name": "Another"}).status_code == 409
    assert chief.patch("/api/v1/sites/quay", json={"lead_days": 40}).json()["lead_days"] == 40
    assert chief.patch("/api/v1/sites/nowhere", json={"lead_days": 40}).status_code == 404


@pytest.mark.parametrize("role", [role for role in PEOPLE if role is not Role.ADMINISTRATOR])
def test_nobody_else_touches_accounts_or_sites(register, role):
    client = register.api(role)
    asked = [
        client.get("/api/v1/accounts"),
        client.get("/api/v1/accounts/1"),
        client.post("/api/v1/accounts", json=BO),
        client.patch("/api/v1/accounts/1", json={"roles": ["administrator"]}),
        client.post("/api/v1/sites", json={"code": "quay", "name": "Quay"}),
        client.patch("/api/v1/sites/harbour", json={"name": "Mine"}),
    ]
    assert {answer.status_code for answer in asked} == {403}


def test_the_console_issues_a_token_for_an_address(register):
    open_account(register, Role.COORDINATOR)
    with register.db.writing() as session:
        work = Work(session, SYSTEM, register.clock())
        made = actions.issue_token_for(work, " Ines.Duarte@example.org", IssueToken(name="console"))
        with pytest.raises(NotFound):
            actions.issue_token_for(work, "nobody@example.org", IssueToken(name="console"))
        with pytest.raises(Invalid):
            actions.issue_token_for(work, EMAIL, IssueToken(name="console", role=Role.TRUSTEE))
    assert with_token(register, made.token).get("/api/v1/me").json()["email"] == EMAIL


def test_helpers_are_chosen_among_those_who_are_at_the_site(register):
    here = register.account(Role.VOLUNTEER, name="Here")
    register.account(Role.VOLUNTEER, name="Away", sites=("island",))
    register.account(Role.CLINICIAN, name="No volunteer")
    gone = register.account(Role.VOLUNTEER, name="Gone")
    with register.db.writing() as session:
        session.get_one(tables.AccountRow, gone).closed_at = register.clock()
    token = register.token(register.account(Role.COORDINATOR))
    with register.db.reading() as session:
        actor = queries.identify(session, Credential(token=token), register.clock())
        work = Work(session, actor, register.clock())
        assert [each.id for each in queries.people_at(work, Role.VOLUNTEER, "harbour")] == [here]
        assert queries.people_at(work, Role.VOLUNTEER, "island") == []


def test_knowing_who_asks_takes_one_query(register):
    account = register.account(*PEOPLE, sites=("harbour", "island"))
    token = register.token(account)
    asked = []
    sa.event.listen(register.db.engine, "before_cursor_execute", lambda *event: asked.append(event[2]))
    with register.db.reading() as session:
        actor = queries.identify(session, Credential(token=token), register.clock())
    assert actor.roles == frozenset(PEOPLE)
    assert actor.sites == set(register.sites.values())
    assert len([statement for statement in asked if statement.startswith("SELECT")]) == 1


def test_a_repeated_key_opens_an_account_once_and_keeps_no_password(register):
    chief = register.api(Role.ADMINISTRATOR)
    key = {"Idempotency-Key": "once"}
    first = chief.post("/api/v1/accounts", json=BO, headers=key)
    assert chief.post("/api/v1/accounts", json=BO, headers=key).json() == first.json()
    with register.db.reading() as session:
        (kept,) = session.scalars(sa.select(AnswerRow.fingerprint))
    said = b"\nPOST /api/v1/accounts?"
    assert kept != sha256(first.request.content + said).hexdigest(), "a plain hash could be guessed at"


def test_a_closed_account_is_nobody_whatever_credential_was_left(register):
    account = open_account(register)
    browser, program = signed_in(register), register.api(account=account)
    with register.db.writing() as session:  # as if somebody had signed in at the very moment it was closed
        session.get_one(tables.AccountRow, account).closed_at = register.clock()
    assert browser.get("/account").status_code == 303
    assert program.get("/api/v1/me").status_code == 401
