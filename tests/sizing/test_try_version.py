"""A socket version beside the limb it was made for, over HTTP and on its page."""

from __future__ import annotations

from math import pi
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.parts.rules import PartKind, VersionState
from tests.assembly.things import a_device, design, figures, version
from tests.casefile.test_pages import as_somebody, words
from tests.conftest import Register
from tests.devices.worn import made, opened, socket
from tests.sizing.files import cone, cone_version, inside, limb, measured, printed
from tests.sizing.test_register import LIMITS

DRAFT: dict[str, Any] = {"state": VersionState.DRAFT, "released_at": None}


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


def tried(client: TestClient, number: str, of: int, query: str = "") -> dict[str, Any]:
    answer = client.get(f"/api/v1/recipients/{number}/socket-versions/{of}/fit{query}")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_a_draft_is_laid_beside_a_limb_that_wears_nothing_yet(
    register: Register, coordinator: TestClient, number: str
) -> None:
    of = cone_version(register, number, liner=1.0, **DRAFT)
    measured(coordinator, number, limb(0.92, 30, 60, 90))
    found = tried(coordinator, number, of)
    assert (found["version"], found["state"], found["side"]) == (of, "draft", "left")
    assert (found["scales"], found["liner_mm"], found["as_of"]) == ({"across": 1.0, "along": 1.0}, 1.0, "2026-03-02")
    girths = [each for each in found["levels"] if each["basis"] == "measured"]
    assert [each["level_mm"] for each in girths] == [30, 60, 90]
    for each in girths:
        assert each["inside_mm"] == inside(each["level_mm"])
        assert each["read_mm"] == pytest.approx(0.92 * inside(each["level_mm"]), abs=0.06)
        assert each["read_on"] == "2026-03-01"
        assert each["limb_mm"] == pytest.approx(each["read_mm"], abs=1.5)  # it was read yesterday
        assert each["room_mm"] == pytest.approx(each["inside_mm"] - 2 * pi - each["limb_mm"], abs=0.11)
        assert 0 < each["months"]["p10"] < each["months"]["p50"]
    assert found["sentence"].startswith("At the size of the file it fits today with")
    assert found["likeness"]["verdict"] == "rescale"
    assert len(found["inside"]) == len(cone())
    assert f"part-versions/{of}/file?scale_across=1.0000&scale_along=1.0000&case={number}" in found["print"]


def test_other_scales_are_tried_and_the_size_that_suits_best_is_said(
    register: Register, coordinator: TestClient, number: str
) -> None:
    of = cone_version(register, number, **DRAFT)
    measured(coordinator, number, limb(1.05, 30, 60, 90))
    small = tried(coordinator, number, of)
    assert small["at"]["verdict"] == "tight"
    assert any(each["room_mm"] < 0 for each in small["levels"] if each["room_mm"] is not None)
    assert small["sentence"] == "At the size of the file it is too tight today, even without a sock."
    best = small["best"]["of_base"]
    assert best["across"] > 1.05
    fitting = tried(coordinator, number, of, f"?across={best['across']}&along={best['along']}")
    assert fitting["at"]["verdict"] == "fits"
    assert f"At {best['across']:.3f} across and {best['along']:.3f} along it fits today" in fitting["sentence"]
    first = next(each for each in fitting["levels"] if each["level_mm"] == 30)
    assert first["inside_mm"] == pytest.approx(best["across"] * inside(30 / best["along"]), abs=0.06)
    assert "worn now" not in words(
        as_somebody(register, Role.COORDINATOR), f"/recipients/{number}/socket-versions/{of}?across=1.1"
    )
    large = tried(coordinator, number, of, "?across=1.3")
    assert large["at"]["verdict"] == "loose"
    longer = tried(coordinator, number, of, "?across=1.08&along=1.2")
    first = next(each for each in longer["levels"] if each["level_mm"] == 60)
    assert first["inside_mm"] == pytest.approx(1.08 * inside(50), abs=0.06)


def test_a_limb_of_another_shape_than_the_file_is_said(
    register: Register, coordinator: TestClient, number: str
) -> None:
    of = cone_version(register, number, **DRAFT)
    measured(coordinator, number, {30: 0.9 * inside(30), 90: 1.02 * inside(90)})
    found = tried(coordinator, number, of)
    assert found["likeness"]["verdict"] == "recast"
    assert "larger at 90 mm than at 30 mm" in " ".join(found["likeness"]["why"])


def test_socks_reported_in_the_socket_worn_tell_of_the_limb_too(register: Register, coordinator: TestClient) -> None:
    number, everyday = a_device(coordinator)
    of = cone_version(register, number, **DRAFT)
    measured(coordinator, number, limb(0.95, 30, 60))
    alone = tried(coordinator, number, of)
    socket(coordinator, number, everyday, limits=LIMITS)
    made(coordinator, f"recipients/{number}/sock-reports", {"on": "2026-03-02", "plies": [], "fit": "tight"})
    assert tried(coordinator, number, of)["levels"][1]["limb_mm"] != alone["levels"][1]["limb_mm"]


def test_a_shape_that_was_rescaled_twice_is_not_printed_again_without_a_word(
    register: Register, coordinator: TestClient
) -> None:
    number, everyday = a_device(coordinator)
    of = cone_version(register, number)
    measured(coordinator, number, limb(1.0, 30, 60, 90))
    said: list[str] = []
    for day, scale in (("2025-01-10", 1.0), ("2025-06-01", 1.05), ("2026-01-12", 1.1)):
        before: dict[str, Any] = {"previous": {"end_reason": "outgrown"}} if said else {}
        printed(coordinator, number, everyday, of, fitted_on=day, scale_across=scale, **before)
        said.append(tried(coordinator, number, of, "?across=1.15")["likeness"]["verdict"])
        assert tried(coordinator, number, of)["scales"] == {"across": scale, "along": 1.0}  # as it is worn
    assert said == ["rescale", "rescale", "recast"]


def test_where_nobody_measured_a_reading_is_asked_for_and_nothing_is_said_of_the_fit(
    register: Register, coordinator: TestClient, number: str
) -> None:
    of = cone_version(register, number, **DRAFT)
    found = tried(coordinator, number, of)
    assert (found["at"], found["best"], found["levels"]) == (None, None, [])
    assert "How it would fit cannot be said yet. Measure the residual limb girth at 0 mm" in found["sentence"]
    said = words(as_somebody(register, Role.COORDINATOR), f"/recipients/{number}/socket-versions/{of}")
    assert "cannot be said yet" in said


def test_versions_of_others_of_designs_and_without_an_inside_are_not_laid_beside_a_limb(
    register: Register, coordinator: TestClient, number: str
) -> None:
    of = cone_version(register, number)
    somebody_else = opened(coordinator, given_name="Tomas")
    sleeve = version(register, design_id=design(register, "Sleeve", PartKind.SOCKET), geometry=figures(cone()))
    for case, which in ((somebody_else, of), (number, sleeve), (number, 999)):
        path = f"/api/v1/recipients/{case}/socket-versions/{which}/fit"
        assert coordinator.get(path).status_code == 404
    unknown = cone_version(register, number, inside=None)
    answer = coordinator.get(f"/api/v1/recipients/{number}/socket-versions/{unknown}/fit")
    assert answer.status_code == 409
    assert "inside of this version is not known" in answer.json()["detail"]

    path = f"/api/v1/recipients/{number}/socket-versions/{of}/fit"
    assert register.api(Role.COORDINATOR, sites=("island",)).get(path).status_code == 404
    assert register.api(Role.VOLUNTEER).get(path).status_code == 404
    assert register.api(Role.TRUSTEE).get(path).status_code == 403
    assert coordinator.get(f"{path}?across=9").status_code == 422


def test_a_mesh_that_is_not_closed_is_compared_and_nothing_is_said_of_plastic(
    register: Register, coordinator: TestClient, number: str
) -> None:
    open_mesh = {**figures(cone()), "watertight": False, "volume_mm3": None, "thinnest_wall_mm": None}
    of = cone_version(register, number, geometry=open_mesh, **DRAFT)
    measured(coordinator, number, limb(0.95, 30, 60))
    found = tried(coordinator, number, of)
    assert found["at"]["verdict"] == "fits"
    assert found["plastic"] is found["box_mm"] is None


def test_the_page_says_it_level_by_level(register: Register, coordinator: TestClient, number: str) -> None:
    of = cone_version(register, number, **DRAFT)
    measured(coordinator, number, limb(0.95, 30, 60))
    browser = as_somebody(register, Role.COORDINATOR)
    path = f"/recipients/{number}/socket-versions/{of}"
    found, said = tried(coordinator, number, of), words(browser, path)
    assert found["sentence"] in said
    assert "a draft" in said
    for each in found["levels"]:
        if each["read_on"]:
            figures_said = f"{each['read_mm']:.1f} 1 March {each['limb_mm']:.1f} {each['inside_mm']:.1f}"
            assert f"{figures_said} {each['room_mm']:.1f}" in said
    html = browser.get(path).text
    assert "<polyline" in html
    assert f'href="/parts/versions/{of}"' in html
    best = found["best"]["of_base"]
    assert f"{path}?across={best['across']:.4f}&amp;along={best['along']:.4f}" in html
    assert "judged on the limb, by whoever is entitled to where you are" in said
