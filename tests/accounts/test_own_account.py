"""The own account's page: password, browsers, tokens."""

from __future__ import annotations

import re

import pytest

from service.access.permissions import Role
from service.accounts import rules
from tests.accounts.people import EMAIL, OTHER_PASSWORD, PASSWORD, form_token, open_account, post, sign_in, signed_in


def change(browser, old=PASSWORD, new=OTHER_PASSWORD, again=None):
    fields = {"old_password": old, "new_password": new, "new_password_again": again or new}
    return post(browser, "/account/password", fields, opened="/account")


def test_a_changed_password_signs_other_browsers_out(register):
    open_account(register)
    mine, other = signed_in(register), signed_in(register)
    assert change(mine).headers["location"] == "/account?done=password-changed"
    assert "Other browsers have been signed out." in mine.get("/account?done=password-changed").text
    assert other.get("/account").status_code == 303
    assert sign_in(register.browser()).status_code == 422
    signed_in(register, password=OTHER_PASSWORD)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"new": "eleven char"}, "12 characters or more"),
        ({"new": "InesDuarte2019"}, "guessed first"),
        ({"new": "ines.duarte 99"}, "guessed first"),
        ({"again": "seven slow barges more"}, "The two new passwords differ"),
        ({"old": "not the one they chose"}, "not the password in use"),
        ({"new": "x" * 201}, "at most 200"),
    ],
)
def test_a_password_that_will_not_do_changes_nothing(register, fields, says):
    open_account(register)
    browser = signed_in(register)
    answer = change(browser, **fields)
    assert answer.status_code == 422
    assert says in answer.text
    assert not [typed for typed in fields.values() if typed in answer.text], "a password is never shown again"
    signed_in(register)


def test_guessing_the_old_password_is_held_back(register):
    open_account(register)
    browser = signed_in(register)
    for _ in range(rules.MOST_TRIES_AN_ADDRESS):
        assert change(browser, old="not the one they chose").status_code == 422
    assert change(browser).status_code == 429
    register.clock.forward(minutes=15)
    assert change(browser).status_code == 303


def test_a_browser_can_be_signed_out_from_another(register):
    open_account(register)
    mine, other = signed_in(register), signed_in(register)
    page = mine.get("/account").text
    assert page.count("(this one)") == 1
    (end,) = re.findall(r'action="(/account/sessions/\d+/end)"', page)
    assert post(mine, end, {}, opened="/account").headers["location"] == "/account?done=session-ended"
    assert other.get("/account").status_code == 303
    assert mine.get("/account").status_code == 200


def test_nobody_signs_out_somebody_elses_browser(register):
    open_account(register)
    open_account(register, email="b@example.org", name="Bo Lind")
    mine, spare, theirs = signed_in(register), signed_in(register), signed_in(register, "b@example.org")
    (end,) = re.findall(r'action="(/account/sessions/\d+/end)"', mine.get("/account").text)
    assert post(theirs, end, {}, opened="/account").status_code == 404
    assert spare.get("/account").status_code == 200


def test_a_token_is_shown_once_and_works_until_it_is_ended(register):
    open_account(register)
    browser = signed_in(register)
    fields = {"name": "Label printer", "days": "30", "role": ""}
    made = post(browser, "/account/tokens", fields, opened="/account")
    (text,) = re.findall(r"<code>(\S+)</code>", made.text)
    client = register.browser()
    client.headers["Authorization"] = f"Bearer {text}"
    assert client.get("/api/v1/me").json()["email"] == EMAIL

    page = browser.get("/account").text
    assert "Label printer" in page
    assert text not in page
    (end,) = re.findall(r'action="(/account/tokens/\d+/end)"', page)
    assert post(browser, end, {}, opened="/account").status_code == 303
    assert client.get("/api/v1/me").status_code == 401


@pytest.mark.parametrize("fields", [{"name": ""}, {"name": "x", "days": "366"}, {"name": "x", "days": "soon"}])
def test_a_token_form_that_is_wrong_comes_back_as_it_was(register, fields):
    open_account(register)
    answer = post(signed_in(register), "/account/tokens", fields, opened="/account")
    assert answer.status_code == 422
    assert "<code>" not in answer.text
    assert all(f'value="{typed}"' in answer.text for typed in fields.values())


def test_a_name_is_text_and_never_markup(register):
    open_account(register, name="<script>alert(1)</script>")
    assert "<script>alert" not in signed_in(register).get("/account").text


def test_a_form_after_the_session_ended_does_nothing(register):
    open_account(register, Role.ADMINISTRATOR)
    browser = signed_in(register)
    token = form_token(browser.get("/account"))
    register.clock.forward(days=register.settings.session_days)
    fields = {"form_token": token, "old_password": PASSWORD, "new_password": OTHER_PASSWORD}
    refused = browser.post("/account/password", data={**fields, "new_password_again": OTHER_PASSWORD})
    assert refused.status_code == 401
    signed_in(register)
