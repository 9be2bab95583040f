"""The pages on which it is asked how somebody gets on, and what their goals are."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.outcomes.things import GOAL, asked, goal, say, wearing

CALL = {
    "way": "visit",
    "answered_by": "both",
    "used": "true",
    "days_a_week": "6",
    "hours_a_day": "4,5",
    "comfort": "9",
    "pain": "none",
    "used_for-eating": "eating",
    "used_for-play": "play",
    "recommend": "perhaps",
    "on": "2026-03-01",
}


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR)
    return signed_in(register)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return wearing(coordinator)[0]


def test_a_call_is_written_down_from_the_list(coordinator: TestClient, browser: TestClient, number: str) -> None:
    listed = browser.get("/follow-ups").text
    assert "One family should have been asked already." in listed
    form = listed.split('href="')
    (link,) = {each.split('"')[0] for each in form if "/follow-ups/new" in each.split('"')[0]}
    page = browser.get(link).text
    assert "It is time: after two weeks." in page
    done = post(browser, f"/recipients/{number}/follow-ups/new", CALL)
    assert done.headers["location"] == f"/recipients/{number}/follow-ups?done=follow-up-answered"
    answer = asked(coordinator, number)["two_weeks"]["answer"]
    assert (answer["way"], answer["days_a_week"], answer["hours_a_day"], answer["used_for"]) == (
        "visit",
        6,
        4.5,
        ["eating", "play"],
    )
    shown = browser.get(f"/recipients/{number}/follow-ups").text
    assert "It is used, six days a week, 4.5 hours a day." in shown
    assert "Nobody is to be asked" in browser.get("/follow-ups").text
    case = browser.get(f"/recipients/{number}").text
    assert "comfort 9 of 10" in case
    assert "Said how it goes with the left everyday device, after two weeks" in case


def test_what_was_typed_comes_back_with_what_to_do(browser: TestClient, number: str) -> None:
    refused = post(
        browser, f"/recipients/{number}/follow-ups/new", {**CALL, "days_a_week": "0", "harm": "", "words": "x"}
    )
    assert refused.status_code == 422
    assert "Worn on no day of the week" in refused.text
    assert 'value="4,5"' in refused.text
    assert "checked" in refused.text


def test_who_is_not_reached_is_tried_again(browser: TestClient, coordinator: TestClient, number: str) -> None:
    form = f"/recipients/{number}/follow-ups/new"
    device = str(asked(coordinator, number)["two_weeks"]["device"])
    done = post(browser, form, {"device": device, "outcome": "not_reached"})
    assert done.headers["location"].endswith("follow-up-not-reached")
    assert "Nobody was reached one time." in browser.get("/follow-ups").text
    assert "nobody was reached" in browser.get(f"/recipients/{number}/follow-ups").text


def test_who_is_hurt_is_told_what_to_do_first(browser: TestClient, number: str) -> None:
    done = post(browser, f"/recipients/{number}/follow-ups/new", {**CALL, "pain": "a_lot", "pain_where": "wrist"})
    page = browser.get(done.headers["location"]).text
    assert page.index("take it off, and leave it off") < page.index("The incident that was opened for it")
    assert "has not been judged yet" in browser.get("/work-list").text


def test_a_device_said_not_to_be_used_waits_where_work_waits(
    browser: TestClient, coordinator: TestClient, number: str
) -> None:
    said = say(coordinator, number, used=False, why_not="looks").json()
    assert "One device is said not to be used any more." in browser.get("/work-list").text
    assert "left everyday device" in browser.get("/follow-ups").text
    assert "See to it" in browser.get(f"/recipients/{number}").text
    page = f"/recipients/{number}/follow-ups"
    done = post(browser, f"{page}/{said['id']}/seen-to", {"stopped": "true"}, opened=page)
    assert done.headers["location"].endswith("device-stopped")
    assert ": how it looks." in browser.get(f"/recipients/{number}/devices/{said['device']}").text
    assert "said not to be used" not in browser.get("/work-list").text


def test_a_follow_up_is_struck_through(browser: TestClient, coordinator: TestClient, number: str) -> None:
    said = say(coordinator, number, used=True, words="All well.").json()
    where = f"/recipients/{number}/follow-ups/{said['id']}/strike"
    assert post(browser, where, {"why": ""}).status_code == 422
    assert post(browser, where, {"why": "His sister's."}).status_code == 303
    assert "His sister&#39;s." in browser.get(f"/recipients/{number}/follow-ups").text
    assert "struck through already" in browser.get(where).text
    assert browser.get(f"/recipients/{number}/follow-ups/999/strike").status_code == 404


def test_a_volunteer_asks_but_does_not_strike(register: Register, coordinator: TestClient, number: str) -> None:
    helper = open_account(register, Role.VOLUNTEER, email="v@example.org", name="Bo")
    body = {"account": helper}
    assert coordinator.post(f"/api/v1/recipients/{number}/helpers", json=body).status_code in {200, 201}
    browser = signed_in(register, "v@example.org")
    assert post(browser, f"/recipients/{number}/follow-ups/new", {"used": "true"}).status_code == 303
    said = asked(coordinator, number)["two_weeks"]["answer"]["id"]
    assert browser.get(f"/recipients/{number}/follow-ups/{said}/strike").status_code == 403
    assert "Strike through" not in browser.get(f"/recipients/{number}/follow-ups").text


def test_a_goal_from_agreeing_to_ending(browser: TestClient, coordinator: TestClient, number: str) -> None:
    page = f"/recipients/{number}/goals"
    assert "No goal is agreed yet." in browser.get(page).text
    levels = {f"levels.{level}": words for level, words in GOAL["levels"].items()}
    typed = {"words": GOAL["words"], "voice": "recipient", "weight": "3", "baseline": "-2", **levels}
    missing = post(browser, f"{page}/new", {**typed, "levels.2": ""})
    assert missing.status_code == 422
    assert "Say in words what this level is: much more than hoped." in missing.text
    assert post(browser, f"{page}/new", typed).status_code == 303
    (mine,) = coordinator.get(f"/api/v1{page}").json()["items"]
    assert {name: mine[name] for name in GOAL} == GOAL

    change = f"{page}/{mine['id']}/change"
    assert "I am as fast as the others." in browser.get(change).text
    put_right = {name: text for name, text in typed.items() if name != "voice"}
    assert post(browser, change, {**put_right, "weight": "2"}).status_code == 303
    assert post(browser, f"{page}/{mine['id']}/score", {"level": "1", "voice": "recipient"}).status_code == 303
    shown = browser.get(page).text
    assert "goals are more than hoped on the whole: 60, from 30 at the beginning." in shown
    assert "write it anew" in post(browser, change, {**put_right, "weight": "1"}).text
    assert post(browser, f"{page}/{mine['id']}/end", {"why": "Done it."}).status_code == 303
    after = browser.get(page).text
    assert "Done it." in after
    assert f"{page}/new?instead_of={mine['id']}" in after
    again = post(browser, f"{page}/new", {**typed, "words": "Next.", "instead_of": str(mine["id"])})
    assert again.status_code == 303
    assert "The goal “Do up my own coat.” ended" in browser.get(f"/recipients/{number}").text


def test_a_score_of_a_questionnaire(browser: TestClient, number: str) -> None:
    form = f"/recipients/{number}/questionnaire-scores/new"
    assert post(browser, form, {"instrument": "Own", "version": "2", "score": "many"}).status_code == 422
    assert post(browser, form, {"instrument": "Own", "version": "2", "score": "71,5"}).status_code == 303
    assert "71.5" in browser.get(f"/recipients/{number}/follow-ups").text


def test_other_cases_pages_are_not_there(register: Register, coordinator: TestClient, number: str) -> None:
    mine = goal(coordinator, number)
    open_account(register, Role.COORDINATOR, email="island@example.org", site="island")
    browser = signed_in(register, "island@example.org")
    for page in (
        "follow-ups",
        "follow-ups/new",
        "goals",
        "goals/new",
        f"goals/{mine}/score",
        "questionnaire-scores/new",
    ):
        assert browser.get(f"/recipients/{number}/{page}").status_code == 404, page
