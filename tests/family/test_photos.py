"""A family shows what broke; its pictures are its own."""

from __future__ import annotations

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.requests.rules import MOST_PHOTOS
from service.requests.tables import PhotoRow
from tests.accounts.people import AT_HOME
from tests.conftest import Register
from tests.devices.worn import count, opened
from tests.family.people import let_in, link, send
from tests.pictures.taken import encoded, scene, with_secrets
from tests.requests.asking import ask, done, listed

OTHER = "{}/broken?part=other&happened=broken"
"""The page that asks about something which is not drawn."""


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def home(coordinator: TestClient) -> str:
    return link(coordinator, opened(coordinator))


def show(browser: TestClient, page: str, content: bytes, name: str = "photo.jpg") -> Any:
    token = re.search(r'name="form_token" value="([0-9a-f]+)"', browser.get(page).text)
    assert token
    files = {"photo": (name, content, "image/jpeg")}
    return browser.post(page, data={"form_token": token[1]}, files=files, headers=AT_HOME)


def test_a_family_shows_what_broke_and_the_coordinator_sees_it(register, coordinator, home):
    browser = let_in(register, home)
    told = send(browser, f"{home}/broken", {"part": "other", "usable": "no", "words": "the clip"}, OTHER.format(home))
    (request,) = listed(coordinator)
    page = f"{home}/requests/{request['id']}/photos"
    assert f'href="{page}"' in told.text
    assert "Would you like to show us?" in browser.get(page).text
    answer = show(browser, page, with_secrets("JPEG", turned=6))
    assert answer.status_code == 303
    thanks = browser.get(answer.headers["location"]).text
    assert "We have your picture." in thanks
    picture = browser.get(thanks.split('<img class="photo" src="')[1].split('"')[0])
    assert picture.headers["content-type"] == "image/jpeg"
    assert picture.headers["referrer-policy"] == "no-referrer"
    (photo,) = coordinator.get(f"/api/v1/requests/{request['id']}").json()["photos"]
    assert photo["added_by"].endswith("family")
    assert f'href="{page}"' in browser.get(f"{home}/requests").text


@pytest.mark.parametrize(("lang", "said"), [("nl", "We konden deze foto niet lezen."), ("ar", "لم نستطع قراءة")])
def test_a_picture_that_cannot_be_read_is_said_to_be_so_in_their_language(register, coordinator, home, lang, said):
    browser = let_in(register, home)
    request = listed_one(browser, coordinator, home)
    page = f"{home}/requests/{request}/photos"
    browser.get(f"{page}?lang={lang}")
    refused = show(browser, page, b"%PDF-1.7", "photo.pdf")
    assert refused.status_code == 422
    assert said in refused.text


def listed_one(browser: TestClient, coordinator: TestClient, home: str) -> int:
    send(browser, f"{home}/broken", {"part": "other", "usable": "yes", "words": "the clip"}, OTHER.format(home))
    number: int = listed(coordinator)[0]["id"]
    return number


def test_enough_is_enough(register, coordinator, home):
    browser = let_in(register, home)
    page = f"{home}/requests/{listed_one(browser, coordinator, home)}/photos"
    for number in range(MOST_PHOTOS):
        assert show(browser, page, encoded(scene(100 + number, 100), "JPEG")).status_code == 303
    assert "We have enough pictures now." in show(browser, page, encoded(scene(333, 100), "JPEG")).text


def test_another_familys_request_is_not_there(register, coordinator, home):
    browser = let_in(register, home)
    theirs = ask(coordinator, opened(coordinator, given_name="Tam"))["id"]
    own = listed_one(browser, coordinator, home)
    page = f"{home}/requests/{theirs}/photos"
    assert browser.get(page).status_code == 404
    token = re.search(r'name="form_token" value="([0-9a-f]+)"', browser.get(f"{home}/say").text)
    assert token
    files = {"photo": ("photo.jpg", encoded(scene(), "JPEG"), "image/jpeg")}
    assert browser.post(page, data={"form_token": token[1]}, files=files, headers=AT_HOME).status_code == 404
    assert count(register, PhotoRow) == 0
    assert browser.get(f"{home}/requests/{own}/photos/1").status_code == 404
    stranger = register.browser()
    assert "month" in stranger.get(f"{home}/requests/{own}/photos").text


def test_what_is_closed_needs_no_more_pictures(register, coordinator, home):
    browser = let_in(register, home)
    request = listed_one(browser, coordinator, home)
    page = f"{home}/requests/{request}/photos"
    token = re.search(r'name="form_token" value="([0-9a-f]+)"', browser.get(page).text)
    assert token
    done(coordinator, request, "close", why="Found again.")
    files = {"photo": ("photo.jpg", encoded(scene(), "JPEG"), "image/jpeg")}
    assert browser.post(page, data={"form_token": token[1]}, files=files, headers=AT_HOME).status_code == 422
    assert count(register, PhotoRow) == 0
