"""What may be sent instead of a file with its data: refused in words, nothing kept, and others are answered."""

from __future__ import annotations

import json
import threading
import time
from typing import Any

import httpx2 as httpx
import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.geometry import reading
from service.kit.errors import TooMany
from service.parts.tables import VersionRow
from tests.conftest import Register
from tests.devices.worn import count, opened
from tests.geometry.hostile import HOSTILE
from tests.parts.made import SAID, SCANNED, finger, limb, post_file, send, shape
from tests.test_killed import served

DATA = json.dumps(SAID)
FINGER: tuple[str, bytes] = ("part.stl", finger())
PATIENCE_SECONDS = 60.0
MOST_SECONDS = 10.0  # for an answer that waits for nobody's file, on a machine that does ten things at once


def complained_of(answer: Any) -> set[str]:
    """The fields a refusal names; it is a problem, in words."""
    assert answer.headers["content-type"] == "application/problem+json", answer.text
    assert answer.json()["detail"]
    return {each["field"] for each in answer.json().get("errors", [])}


def stored(register: Register) -> set[str]:
    """The names of all files in the store."""
    return {each.name for each in (register.settings.data / "files").rglob("*") if each.is_file()}


@pytest.mark.parametrize(
    ("sent", "status", "fields"),
    [
        ({"files": {"file": FINGER}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": ""}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": "{unit: mm}"}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": '{"unit": "mm"'}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": "[1]"}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": "null"}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": "[" * 100_000}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": '{"features": NaN}'}}, 422, {"features"}),
        ({"files": {"file": FINGER}, "data": {"data": ["{}", "{}"]}}, 422, {"data"}),
        ({"files": {"file": FINGER}, "data": {"data": DATA, "unit": "mm"}}, 422, {"unit"}),
        ({"files": [("file", FINGER), ("file", FINGER)], "data": {"data": DATA}}, 422, {"file"}),
        ({"files": {"other": FINGER}, "data": {"data": DATA}}, 422, {"file", "other"}),
        ({"data": {"data": DATA, "file": "solid"}}, 422, {"file"}),
        ({"json": SAID}, 422, {"file"}),
        ({"content": finger(), "headers": {"Content-Type": "model/stl"}}, 422, {"file"}),
        ({"content": b"", "headers": {"Content-Type": "multipart/form-data; boundary=x"}}, 422, {"file", "data"}),
        ({"content": b"x", "headers": {"Content-Type": "multipart/form-data"}}, 400, set()),
        ({"content": b"--y", "headers": {"Content-Type": "multipart/form-data; boundary=x"}}, 400, set()),
        ({"content": b"\xff" * 300, "headers": {"Content-Type": "multipart/form-data; boundary=x"}}, 400, set()),
        ({"files": {f"f{n}": FINGER for n in range(30)}, "data": {"data": DATA}}, 400, set()),
    ],
)
def test_what_is_no_file_with_its_data_is_refused_in_words(
    coordinator: TestClient, index: int, sent: dict[str, Any], status: int, fields: set[str]
) -> None:
    answer = coordinator.post(f"/api/v1/part-designs/{index}/versions", **sent)
    assert answer.status_code == status, answer.text
    assert complained_of(answer) == fields
    assert coordinator.get(f"/api/v1/part-designs/{index}/versions").json()["items"] == []


def test_data_may_come_as_a_part_with_a_type_of_its_own(coordinator: TestClient, index: int) -> None:
    files: Any = {"file": FINGER, "data": ("data.json", DATA, "application/json")}
    assert coordinator.post(f"/api/v1/part-designs/{index}/versions", files=files).status_code == 201


def test_what_is_larger_than_is_read_is_not_read(coordinator: TestClient, index: int) -> None:
    for path in (f"part-designs/{index}/versions", f"recipients/{opened(coordinator)}/shapes"):
        answer = post_file(coordinator, path, {}, bytes(61_000_000))
        assert answer.status_code == 413
        assert "larger than 60 MB" in answer.json()["detail"]
    other = coordinator.post("/api/v1/part-designs", content=bytes(3_000_000))
    assert other.status_code == 413


def test_an_stl_without_its_unit_is_refused(coordinator: TestClient, index: int) -> None:
    answer = send(coordinator, f"part-designs/{index}/versions", {"unit": None})
    assert answer.status_code == 422
    assert complained_of(answer) == {"unit"}


def test_who_may_not_send_has_no_file_read(
    register: Register, coordinator: TestClient, index: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = opened(coordinator)
    of_shape = shape(coordinator, number)["id"]
    kept = stored(register)

    def read(*_: Any) -> None:
        raise AssertionError("a file was read")

    monkeypatch.setattr(reading, "read", read)
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    for client, path, status in (
        (register.browser(), f"part-designs/{index}/versions", 401),
        (register.api(Role.TRUSTEE), f"part-designs/{index}/versions", 403),
        (coordinator, "part-designs/999/versions", 404),
        (coordinator, "part-designs/x/versions", 422),
        (register.browser(), "part-designs/x/versions", 401),
        (register.browser(), f"recipients/{number}/shapes", 401),
        (register.api(Role.ADMINISTRATOR), f"recipients/{number}/shapes", 403),
        (elsewhere, f"recipients/{number}/shapes", 404),
        (elsewhere, f"recipients/{number}/shapes/{of_shape}/versions", 404),
        (coordinator, f"recipients/{number}/shapes/999/versions", 404),
    ):
        assert send(client, path).status_code == status, path
    assert stored(register) == kept


def test_somebody_who_comes_while_many_files_are_read_is_told_when_to_try_again(
    coordinator: TestClient, index: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(*_: Any) -> None:
        raise TooMany("Two files are being read just now. Nothing was kept; try again in a moment.", retry_after=5)

    monkeypatch.setattr(reading, "read", busy)
    answer = send(coordinator, f"part-designs/{index}/versions", headers={"Idempotency-Key": "later"})
    assert answer.status_code == 429
    assert answer.headers["Retry-After"] == "5"
    monkeypatch.undo()
    again = send(coordinator, f"part-designs/{index}/versions", headers={"Idempotency-Key": "later"})
    assert again.status_code == 201


def test_a_shape_takes_no_more_than_a_version_does(coordinator: TestClient) -> None:
    path = f"recipients/{opened(coordinator)}/shapes"
    answer = post_file(coordinator, path, SCANNED, b"solid nothing\nendsolid nothing\n")
    assert answer.status_code == 422
    assert complained_of(answer) == {"file"}
    assert post_file(coordinator, path, {**SCANNED, "inside": {}}, limb()).status_code == 422


def test_files_that_mean_harm_are_refused_in_words_while_others_are_answered(register: Register) -> None:
    account = register.account(Role.COORDINATOR)
    headers = {"Authorization": f"Bearer {register.token(account)}"}
    answers: dict[str, Any] = {}
    slowest, asked = 0.0, 0
    with (
        served(register) as (_, address),
        httpx.Client(base_url=address, headers=headers, timeout=PATIENCE_SECONDS) as client,
    ):
        at = client.post("/api/v1/part-designs", json={"name": "Palm", "kind": "palm"}).json()["id"]

        def send_all() -> None:
            for name, make in HOSTILE.items():
                said = {"unit": "mm"} if name.lower().endswith(".stl") else {}
                files, data = {"file": (name, make())}, {"data": json.dumps(said)}
                answers[name] = client.post(f"/api/v1/part-designs/{at}/versions", files=files, data=data)

        sender = threading.Thread(target=send_all)
        sender.start()
        while sender.is_alive():
            started = time.monotonic()
            assert client.get("/api/v1/part-designs").status_code == 200
            slowest, asked = max(slowest, time.monotonic() - started), asked + 1
            time.sleep(0.05)
        sender.join()
    assert set(answers) == set(HOSTILE)
    for name, answer in answers.items():
        assert answer.status_code == 422, (name, answer.status_code, answer.text[:500])
        told = answer.json().get("errors") or answer.json()["doubts"]
        assert {each["field"] for each in told} <= {"file", "unit"}, name
        assert all(len(each["message"]) > 20 for each in told), name
    assert count(register, VersionRow) == 0
    assert asked > len(HOSTILE) / 10
    assert slowest < MOST_SECONDS
