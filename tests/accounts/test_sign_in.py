"""Signing in and out, seen from a browser."""

from __future__ import annotations

import re
from html import unescape
from urllib.parse import unquote

import pytest
import sqlalchemy as sa
from argon2 import PasswordHasher

from service.access.permissions import PEOPLE, Role
from service.accounts import rules, tables
from service.audit.tables import AuditRow
from service.kit import passwords
from service.web.form_token import SESSION_COOKIE
from tests.accounts.people import AT_HOME, EMAIL, PASSWORD, form_token, open_account, sign_in, signed_in

CASE_WORKERS = {Role.COORDINATOR, Role.CLINICIAN, Role.VOLUNTEER, Role.SAFEGUARDING_LEAD}


def test_a_stranger_is_asked_to_sign_in(register):
    browser = register.browser()
    assert browser.get("/").headers["location"] == "/sign-in"
    assert browser.get("/account").headers["location"].startswith("/sign-in?next=")
    assert "Mail address" in browser.get("/sign-in").text


@pytest.mark.parametrize("role", PEOPLE)
def test_everybody_starts_where_their_day_starts(register, role):
    open_account(register, role)
    browser = register.browser()
    assert sign_in(browser).headers["location"] == "/"
    start = "/work-list" if role in CASE_WORKERS else "/outcomes" if role is Role.TRUSTEE else "/account"
    assert browser.get("/").headers["location"] == start


def test_an_address_is_the_same_in_any_case(register):
    open_account(register)
    assert sign_in(register.browser(), " Ines.Duarte@Example.ORG ").status_code == 303


def test_the_cookie_is_out_of_reach_and_kept_only_as_a_hash(register):
    open_account(register)
    answer = sign_in(register.browser())
    said = answer.headers["set-cookie"].lower()
    assert "httponly" in said
    assert "samesite=lax" in said
    assert "path=/" in said
    assert f"max-age={register.settings.session_days * 86400}" in said
    with register.db.reading() as session:
        (kept,) = session.scalars(sa.select(tables.SessionRow.token_hash))
    assert kept == passwords.fingerprint(answer.cookies[SESSION_COOKIE])


def test_a_wrong_password_and_an_unknown_address_are_answered_alike(register):
    open_account(register)
    wrong = sign_in(register.browser(), password="not the one they chose")
    unknown = sign_in(register.browser(), email="nobody.here@example.org")
    assert wrong.status_code == unknown.status_code == 422
    assert wrong.text.replace(EMAIL, "") == unknown.text.replace("nobody.here@example.org", "")
    assert EMAIL in wrong.text, "what was typed stays"
    assert "not the one they chose" not in wrong.text, "but never a password"


def test_an_unknown_address_costs_a_hash_as_a_known_one_does(register, monkeypatch):
    open_account(register)
    verified = []
    real = passwords._HASHER.verify

    class Watched:
        def verify(self, kept, password):
            verified.append(kept)
            return real(kept, password)

    for email in (EMAIL, "nobody.here@example.org"):
        sign_in(register.browser(), email, "not the one they chose")  # also makes the hash of nobody
    monkeypatch.setattr(passwords, "_HASHER", Watched())
    for email in (EMAIL, "nobody.here@example.org"):
        sign_in(register.browser(), email, "not the one they chose")
    (known, unknown) = (kept.rsplit("$", 2)[0] for kept in verified)
    assert known == unknown, "the same algorithm with the same parameters"


def test_a_hash_of_older_parameters_is_made_anew(register):
    account = open_account(register)
    old = PasswordHasher(time_cost=1, memory_cost=64).hash(PASSWORD)
    with register.db.writing() as session:
        session.get_one(tables.AccountRow, account).password_hash = old
    signed_in(register)
    with register.db.reading() as session:
        assert not passwords.is_outdated(session.get_one(tables.AccountRow, account).password_hash)
    signed_in(register)


def test_guessing_at_one_address_is_held_back_for_a_while(register):
    open_account(register)
    browser = register.browser()
    for _ in range(rules.MOST_TRIES_AN_ADDRESS):
        assert sign_in(browser, password="not the one they chose").status_code == 422
    held = sign_in(browser)
    assert held.status_code == 429, "even with the right password"
    assert 0 < int(held.headers["retry-after"]) <= rules.TRY_WINDOW.total_seconds()
    assert sign_in(browser, email="nobody.here@example.org").status_code == 422, "another address is not held back"
    register.clock.forward(seconds=int(held.headers["retry-after"]))
    assert sign_in(browser).status_code == 303


def test_guessing_from_one_network_is_held_back_whatever_the_address(register):
    open_account(register)
    for number in range(rules.MOST_TRIES_A_NETWORK):
        assert sign_in(register.browser(), email=f"guess{number}@example.org").status_code == 422
    assert sign_in(register.browser()).status_code == 429


def test_the_right_password_forgives_the_wrong_ones_before(register):
    open_account(register)
    for _ in range(2):
        for _ in range(rules.MOST_TRIES_AN_ADDRESS - 1):
            sign_in(register.browser(), password="not the one they chose")
        signed_in(register)


def test_tries_are_kept_hashed_and_not_for_long(register):
    open_account(register)
    sign_in(register.browser(), password="not the one they chose")
    register.clock.forward(hours=1)
    sign_in(register.browser(), password="not the one they chose")
    with register.db.reading() as session:
        tries = session.scalars(sa.select(tables.SignInTryRow)).all()
    assert {each.at for each in tries} == {register.clock()}
    assert not [each for each in tries if "example" in each.who]


def test_signing_out_ends_the_session_itself(register):
    open_account(register)
    browser = signed_in(register)
    stolen = browser.cookies[SESSION_COOKIE]
    token = form_token(browser.get("/account"))
    assert browser.post("/sign-out", data={"form_token": token}).headers["location"] == "/sign-in?done=signed-out"
    thief = register.browser()
    thief.cookies.set(SESSION_COOKIE, stolen)
    assert thief.get("/account").status_code == 303
    assert "You are signed out." in browser.get("/sign-in?done=signed-out").text


def test_a_session_ends_by_itself(register):
    open_account(register)
    browser = signed_in(register)
    register.clock.forward(days=register.settings.session_days, seconds=-1)
    assert browser.get("/account").status_code == 200
    register.clock.forward(seconds=1)
    assert browser.get("/account").status_code == 303


def test_signing_in_again_ends_the_session_of_before(register):
    open_account(register)
    browser = signed_in(register)
    before = browser.cookies[SESSION_COOKIE]
    # A page opened earlier, in another tab, sends its form after this browser signed in.
    answer = browser.post(
        "/sign-in",
        data={"form_token": form_token(browser.get("/account")), "email": EMAIL, "password": PASSWORD},
        headers=AT_HOME,
    )
    assert answer.status_code == 303
    thief = register.browser()
    thief.cookies.set(SESSION_COOKIE, before)
    assert thief.get("/account").status_code == 303


@pytest.mark.parametrize("onward", ["/recipients?q=Çağla%20O&state=active", "/account"])
def test_signing_in_goes_on_to_the_page_that_was_asked_for(register, onward):
    open_account(register)
    browser = register.browser()
    asked = browser.get(browser.get(onward).headers["location"])
    (kept,) = re.findall(r'name="next" value="([^"]+)"', asked.text)
    landed = sign_in(browser, onward=unescape(kept)).headers["location"]
    assert unquote(landed) == unquote(onward)


@pytest.mark.parametrize("onward", ["//evil.example", "/\\evil.example", "/\t/evil.example", "https://evil.example"])
def test_signing_in_leads_nowhere_else(register, onward):
    open_account(register)
    browser = register.browser()
    assert sign_in(browser, onward=onward).headers["location"] == "/"
    assert browser.get("/sign-in", params={"next": onward}).headers["location"] == "/"
    assert "evil" not in register.browser().get("/sign-in", params={"next": onward}).text


def test_a_form_without_its_token_does_nothing(register):
    open_account(register)
    browser = register.browser()
    for token in ({}, {"form_token": ""}, {"form_token": "é"}):
        refused = browser.post("/sign-in", data={"email": EMAIL, "password": PASSWORD, **token}, headers=AT_HOME)
        assert refused.status_code == 403
        assert SESSION_COOKIE not in refused.cookies


def test_a_form_of_another_browser_does_nothing(register):
    open_account(register)
    theirs, mine = signed_in(register), signed_in(register)
    token = form_token(mine.get("/account"))
    assert theirs.post("/sign-out", data={"form_token": token}).status_code == 403
    assert theirs.get("/account").status_code == 200


@pytest.mark.parametrize(
    "sender", [{"Origin": "https://evil.example"}, {"Sec-Fetch-Site": "cross-site"}, {"Origin": "null"}]
)
def test_a_form_sent_by_another_site_does_nothing(register, sender):
    open_account(register)
    browser = signed_in(register)
    token = form_token(browser.get("/account"))
    refused = browser.post("/sign-out", data={"form_token": token}, headers=sender)
    assert refused.status_code == 403
    assert browser.get("/account").status_code == 200


@pytest.mark.parametrize("cookie", ["", "x", "é" * 50, "a" * 5000, "handspan_guess"])
def test_a_made_up_cookie_is_nobody(register, cookie):
    headers = {"Cookie": f"{SESSION_COOKIE}={cookie}".encode()}
    assert register.browser().get("/account", headers=headers).status_code == 303


@pytest.mark.parametrize(
    "fields", [{}, {"email": EMAIL}, {"email": "a\x00b@x.yz", "password": "p"}, {"email": "a" * 500}]
)
def test_a_form_half_filled_in_comes_back(register, fields):
    browser = register.browser()
    token = form_token(browser.get("/sign-in"))
    answer = browser.post("/sign-in", data={"form_token": token, **fields}, headers=AT_HOME)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text


def test_what_happened_at_the_door_is_on_record(register):
    account = open_account(register)
    sign_in(register.browser(), password="not the one they chose")
    browser = signed_in(register)
    browser.post("/sign-out", data={"form_token": form_token(browser.get("/account"))})
    with register.db.reading() as session:
        entries = session.execute(
            sa.select(AuditRow.act, AuditRow.actor, AuditRow.account_id).order_by(AuditRow.id)
        ).all()
    assert entries == [
        ("added", "the register", None),
        ("gave a wrong password", "nobody", None),
        ("signed in", "Ines Duarte", account),
        ("signed out", "Ines Duarte", account),
    ]
