"""Photographs to a request: kept without what came with them, shown to whoever may see the request, to nobody else."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from fastapi.testclient import TestClient
from PIL import Image

from service.access.permissions import Role
from service.kit.files import Files
from service.requests.rules import MOST_PHOTOS
from service.requests.tables import PhotoRow
from tests.accounts.people import AT_HOME, open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import count, opened
from tests.pictures.taken import SECRET, bomb, encoded, hostile, scene, with_secrets
from tests.requests.asking import ask, done


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def asked(coordinator: TestClient) -> int:
    number: int = ask(coordinator, opened(coordinator))["id"]
    return number


def sent(client: TestClient, request: int, content: bytes, name: str = "photo.jpg", **headers: str) -> Any:
    url = f"/api/v1/requests/{request}/photos"
    return client.post(url, files={"photo": (name, content, "image/jpeg")}, headers=headers)


def kept(register: Register) -> list[str]:
    folder = register.settings.data / "files"
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def test_a_photograph_is_kept_without_what_came_with_it(register, coordinator, asked):
    answer = sent(coordinator, asked, with_secrets("JPEG"))
    assert answer.status_code == 201
    (photo,) = answer.json()["photos"]
    assert (photo["width"], photo["height"], photo["added_by"]) == (400, 300, "coordinator")
    shown = coordinator.get(f"/api/v1/requests/{asked}/photos/{photo['id']}")
    assert shown.headers["content-type"] == "image/jpeg"
    assert shown.headers["x-content-type-options"] == "nosniff"
    assert "sandbox" in shown.headers["content-security-policy"]
    assert shown.headers["cache-control"] == "no-store"
    assert SECRET.encode() not in shown.content
    assert Image.open(io.BytesIO(shown.content)).size == (400, 300)
    assert [SECRET.encode() in Files(register.settings.files).get(name) for name in kept(register)] == [False]


def test_the_same_photograph_is_kept_once(register, coordinator, asked):
    content = encoded(scene(), "PNG")
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda _: sent(coordinator, asked, content).status_code, range(4)))
    assert answers == [201] * 4
    assert count(register, PhotoRow) == 1


def test_of_too_many_none_is_kept(register, coordinator, asked):
    for number in range(MOST_PHOTOS):
        assert sent(coordinator, asked, encoded(scene(100 + number, 90), "JPEG")).status_code == 201
    refused = sent(coordinator, asked, encoded(scene(300, 90), "JPEG"))
    assert refused.status_code == 409
    assert "as many as are kept" in refused.json()["detail"]
    assert count(register, PhotoRow) == MOST_PHOTOS


def test_what_is_no_photograph_is_refused_and_nothing_is_kept(register, coordinator, asked):
    for what, content in hostile().items():
        refused = sent(coordinator, asked, content, "photo.html")
        assert refused.status_code == 422, what
        (wrong,) = refused.json()["errors"]
        assert wrong["field"] == "photo"
        assert "photograph" in wrong["message"] or "picture" in wrong["message"], what
    assert kept(register) == []
    assert count(register, PhotoRow) == 0


def test_a_bomb_is_refused_and_a_body_over_the_limit_is_not_read(register, coordinator, asked):
    assert sent(coordinator, asked, bomb(30_000, 30_000)).status_code == 422
    assert sent(coordinator, asked, bytes(register.settings.largest_file_bytes)).status_code == 413
    assert coordinator.post(f"/api/v1/requests/{asked}/photos", data={"photo": "a text"}).status_code == 422
    assert kept(register) == []


def test_nobody_else_sees_it_or_adds_one(register, coordinator, asked):
    (photo,) = sent(coordinator, asked, encoded(scene(), "JPEG")).json()["photos"]
    for client, wanted in (
        (register.api(Role.COORDINATOR, sites=("island",)), 404),
        (register.api(Role.VOLUNTEER), 404),
        (register.api(Role.TRUSTEE), 403),
    ):
        assert client.get(f"/api/v1/requests/{asked}/photos/{photo['id']}").status_code == wanted
        assert sent(client, asked, encoded(scene(200, 200), "JPEG")).status_code == wanted
    other = ask(coordinator, opened(coordinator, given_name="Tam"))["id"]
    assert coordinator.get(f"/api/v1/requests/{other}/photos/{photo['id']}").status_code == 404
    assert len(kept(register)) == 1


def test_a_settled_request_takes_no_more(register, coordinator, asked):
    done(coordinator, asked, "close", why="They printed one themselves.")
    assert sent(coordinator, asked, encoded(scene(), "JPEG")).status_code == 409
    assert kept(register) == []


def test_what_is_taken_away_is_gone_from_the_store_too_unless_another_shows_it(register, coordinator, asked):
    other = ask(coordinator, opened(coordinator, given_name="Tam"))["id"]
    content = encoded(scene(), "JPEG")
    (here,), (there,) = (sent(coordinator, each, content).json()["photos"] for each in (asked, other))
    assert coordinator.delete(f"/api/v1/requests/{asked}/photos/{here['id']}").status_code == 204
    register_works(register)
    assert coordinator.get(f"/api/v1/requests/{asked}/photos/{here['id']}").status_code == 404
    assert coordinator.get(f"/api/v1/requests/{other}/photos/{there['id']}").status_code == 200
    assert register.api(Role.VOLUNTEER).delete(f"/api/v1/requests/{other}/photos/{there['id']}").status_code == 403
    coordinator.delete(f"/api/v1/requests/{other}/photos/{there['id']}")
    register_works(register)
    assert kept(register) == []


def register_works(register: Register) -> None:
    assert register.run_jobs()


def test_on_the_page_of_the_request(register, coordinator, asked):
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    at = f"/requests/{asked}"
    token = browser.get(at).text.split('name="form_token" value="')[1].split('"')[0]

    def chosen(content: bytes, name: str = "photo.jpg") -> Any:
        files = {"photo": (name, content, "application/octet-stream")} if name else {}
        return browser.post(f"{at}/photos", data={"form_token": token}, files=files, headers=AT_HOME)

    again = chosen(b"%PDF-1.7")
    assert again.status_code == 422
    assert "This is not a photograph that can be read." in again.text
    assert chosen(encoded(scene(), "WEBP")).headers["location"].startswith(f"{at}?done=photo-added")
    page = browser.get(at).text
    assert 'alt="Photograph 1 to this request"' in page
    picture = page.split('<img class="photo" src="')[1].split('"')[0]
    assert browser.get(picture).headers["content-type"] == "image/jpeg"
    gone = browser.post(f"{picture}/remove", data={"form_token": token}, headers=AT_HOME)
    assert gone.headers["location"].endswith("done=photo-removed")
    assert "<img" not in browser.get(at).text
