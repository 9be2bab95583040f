"""What administrators do to accounts and sites, on the pages."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import PEOPLE, Role
from service.audit.tables import AuditRow
from tests.accounts.people import EMAIL, OTHER_PASSWORD, PASSWORD, open_account, post, sign_in, signed_in

CHIEF = "chief@example.org"
BO = {"name": "Bo Lind", "email": "bo.lind@example.org", "password": OTHER_PASSWORD}


def administrator(register):
    open_account(register, Role.ADMINISTRATOR, email=CHIEF, name="Chief")
    return signed_in(register, CHIEF)


def test_an_account_is_opened_and_its_person_signs_in(register):
    chief = administrator(register)
    ticked = {"roles-volunteer": "volunteer", "roles-clinician": "clinician", "sites-island": "island"}
    opened = post(chief, "/accounts/new", {**BO, **ticked})
    assert opened.headers["location"] == "/accounts?done=account-added"
    assert "Volunteer and clinician at The island." in chief.get("/accounts").text
    page = signed_in(register, BO["email"], OTHER_PASSWORD).get("/account").text
    assert "You are Bo Lind, volunteer and clinician at The island." in page


def test_what_is_missing_is_said_and_what_was_typed_stays(register):
    chief = administrator(register)
    answer = post(chief, "/accounts/new", {**BO, "email": "bo", "roles-volunteer": "volunteer"})
    assert answer.status_code == 422
    for sentence in ("Write a mail address such as", "Choose at least one"):
        assert sentence in answer.text
    assert 'value="Bo Lind"' in answer.text
    assert 'name="roles-volunteer" value="volunteer" checked' in answer.text


def test_an_address_has_one_account_and_the_form_comes_back(register):
    chief = administrator(register)
    fields = {**BO, "email": CHIEF.upper(), "roles-volunteer": "volunteer", "sites-island": "island"}
    answer = post(chief, "/accounts/new", fields)
    assert answer.status_code == 422
    assert "There is an account with this address already." in answer.text
    assert 'value="Bo Lind"' in answer.text
    assert chief.get("/accounts").text.count('<a href="/accounts/') == 1


def test_roles_and_sites_change_at_once(register):
    account = open_account(register, Role.VOLUNTEER)
    chief, person = administrator(register), signed_in(register)
    path = f"/accounts/{account}"
    assert 'name="roles-volunteer" value="volunteer" checked' in chief.get(path).text
    fields = {"name": "Ines Duarte", "email": EMAIL, "roles-trustee": "trustee", "sites-island": "island"}
    assert post(chief, path, fields).headers["location"] == "/accounts?done=account-changed"
    assert "trustee at The island" in person.get("/account").text, "signed in as before, with the new role"
    with register.db.reading() as session:
        changes = session.scalar(sa.select(AuditRow.changes).where(AuditRow.act == "changed"))
    assert changes == {"roles": [["volunteer"], ["trustee"]], "sites": [["harbour"], ["island"]]}


def test_a_closed_account_is_shut_out_everywhere_and_can_be_opened_again(register):
    account = open_account(register)
    chief, person, program = administrator(register), signed_in(register), register.api(account=account)
    access = f"/accounts/{account}/access"
    closed = post(chief, access, {"closed": "true"}, opened=f"/accounts/{account}")
    assert closed.headers["location"] == "/accounts?done=account-closed"
    assert person.get("/account").status_code == 303
    assert program.get("/api/v1/me").status_code == 401
    assert sign_in(register.browser()).status_code == 422
    assert "closed" in chief.get("/accounts").text

    post(chief, access, {"closed": "false"}, opened=f"/accounts/{account}")
    assert person.get("/account").status_code == 303, "what was ended stays ended"
    assert program.get("/api/v1/me").status_code == 401
    signed_in(register)


def test_a_forgotten_password_is_set_anew_and_ends_being_held_back(register):
    account = open_account(register)
    chief, person = administrator(register), signed_in(register)
    while sign_in(register.browser(), password="not the one they chose").status_code != 429:
        pass
    fields = {"name": "Ines Duarte", "email": EMAIL, "roles-volunteer": "volunteer", "sites-harbour": "harbour"}
    post(chief, f"/accounts/{account}", {**fields, "password": OTHER_PASSWORD})
    assert person.get("/account").status_code == 303
    signed_in(register, password=OTHER_PASSWORD)


def test_the_last_administrator_stays(register):
    number = open_account(register, Role.ADMINISTRATOR, email=CHIEF, name="Chief")
    second = register.account(Role.ADMINISTRATOR)
    chief = signed_in(register, CHIEF)
    post(chief, f"/accounts/{second}/access", {"closed": "true"}, opened=f"/accounts/{second}")

    closing = post(chief, f"/accounts/{number}/access", {"closed": "true"}, opened=f"/accounts/{number}")
    assert closing.status_code == 422
    assert "This is the last administrator." in closing.text
    assert 'value="Chief"' in closing.text, "the form shows the account as it stands"
    fields = {"name": "Chief", "email": CHIEF, "roles-trustee": "trustee", "sites-harbour": "harbour"}
    assert "This is the last administrator." in post(chief, f"/accounts/{number}", fields).text
    assert chief.get("/accounts").status_code == 200


def test_sites_are_added_and_changed(register):
    chief = administrator(register)
    quay = {
        "code": "North-Quay",
        "name": "North quay",
        "lead_days": "35",
        "tight_risk": "0.05",
        "note": "Post twice a week",
    }
    assert post(chief, "/new-site", quay).headers["location"] == "/accounts?done=site-added"
    assert "Post twice a week" in chief.get("/sites/north-quay").text
    assert '<option value="0.05" selected>5 in 100</option>' in chief.get("/sites/north-quay").text
    change = {"name": "North quay clinic", "lead_days": "21", "tight_risk": "0.2", "note": ""}
    assert post(chief, "/sites/north-quay", change).headers["location"] == "/accounts?done=site-changed"
    page = chief.get("/accounts").text
    assert "North quay clinic" in page
    assert "Post twice a week" not in page


def test_a_site_that_cannot_be_comes_back_as_typed(register):
    chief = administrator(register)
    wrong = [
        ({"code": "harbour"}, "already"),
        ({"code": "a b"}, "letters (a to z)"),
        ({"lead_days": "0"}, "1"),
        ({"tight_risk": "0.9"}, "0.5"),
    ]
    for fields, says in wrong:
        answer = post(chief, "/new-site", {"code": "quay", "name": "Quay", "lead_days": "28", **fields})
        assert answer.status_code == 422
        assert says in answer.text
        assert 'value="Quay"' in answer.text


def test_only_administrators_come_near(register):
    open_account(register, *(role for role in PEOPLE if role is not Role.ADMINISTRATOR))
    browser = signed_in(register)
    pages = ["/accounts", "/accounts/new", "/accounts/1", "/new-site", "/sites/harbour", "/accounts/999"]
    assert {browser.get(page).status_code for page in pages} == {403}
    forms = ["/accounts/new", "/accounts/1", "/accounts/1/access", "/new-site", "/sites/harbour"]
    assert {post(browser, path, {}, opened="/account").status_code for path in forms} == {403}
    assert "/accounts" not in browser.get("/account").text.replace("/account/", "")


def test_what_is_not_there_is_not_found(register):
    chief = administrator(register)
    for page in ("/accounts/999", "/sites/nowhere"):
        assert chief.get(page).status_code == 404
    assert chief.get(f"/accounts/{2**40}").status_code in {404, 422}
    assert sign_in(register.browser(), CHIEF, PASSWORD).status_code == 303
