"""A coordinator sees whom to ring; everybody says when and how they want to be written to."""

from __future__ import annotations

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.notifications.told import BY_PHONE, say


def test_whom_to_ring_and_that_they_were_rung(register: Register) -> None:
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    assert "Nobody has to be rung" in browser.get("/messages").text
    say(register, to=BY_PHONE, urgent=True, body="Stop using it.\nRing us.")
    say(register, key="mail")
    page = browser.get("/messages").text
    assert "One person is to be rung or written to, one of them at once." in page
    assert 'href="tel:01200300"' in page
    assert "Ring Noor on 01 200 300." in browser.get("/messages/1").text
    done = post(browser, "/messages/1/done", {"note": "She stopped at once."}, opened="/messages/1")
    assert done.status_code == 303
    assert "She stopped at once." in browser.get("/messages/1").text
    refused = post(browser, "/messages/1/done", {}, opened="/messages/2")
    assert "Somebody has done this already" in refused.text
    assert post(browser, "/messages/2/drop", {}, opened="/messages/2").status_code == 422
    assert post(browser, "/messages/2/drop", {"why": "They rang."}, opened="/messages/2").status_code == 303
    assert "Noor is not told this." in browser.get("/messages/2").text


def test_a_volunteer_sees_no_messages_and_keeps_their_own_wishes(register: Register) -> None:
    open_account(register, Role.VOLUNTEER)
    browser = signed_in(register)
    assert browser.get("/messages").status_code == 403
    assert "none between 20:00 and 8:00" in browser.get("/account/messages").text
    wishes = {"wants_mail": "true", "quiet_from": "22", "quiet_until": "6", "digest_day": "0"}
    assert post(browser, "/account/messages", wishes).status_code == 303
    assert "one mail a week" in browser.get("/account/messages").text
    assert post(browser, "/account/messages", {**wishes, "wants_mail": "false"}).status_code == 303
    assert "no mail but what is urgent" in browser.get("/account/messages").text
    assert post(browser, "/account/messages", {**wishes, "quiet_from": "24"}).status_code == 422
