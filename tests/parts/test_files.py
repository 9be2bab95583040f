"""Files and figures over HTTP: at any scale, with what is written into them, and who took them on record."""

from __future__ import annotations

import io
import re
import zipfile
from typing import Any

import numpy as np
import pytest
import sqlalchemy as sa
import trimesh
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from tests.conftest import Register
from tests.devices.worn import opened
from tests.geometry import solids
from tests.parts.made import LENGTH, PIN, RADIUS, design, file_of, finger, move, released, version

INDEX = {"name": "Finger, index", "kind": "finger", "digit": "index"}


@pytest.fixture
def printable(coordinator: TestClient) -> int:
    coupling = {"kind": "coupling", "nominal_mm": 20, "axis": "along"}
    return released(coordinator, design(coordinator), {"features": [PIN, coupling]})


def taken(client: TestClient, version_id: int, **asked: Any) -> Any:
    return client.get(f"/api/v1/part-versions/{version_id}/file", params=asked)


def mesh_in(content: bytes) -> Any:
    return trimesh.load(io.BytesIO(content), file_type="3mf", force="mesh")


def written_into(content: bytes) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        model = package.read("3D/3dmodel.model").decode()
    assert 'unit="millimeter"' in model
    return dict(re.findall(r'<metadata name="(?:\w+:)?([^"]+)"[^>]*>([^<]*)<', model))


def test_figures_at_its_own_size_and_at_a_scale(coordinator: TestClient, printable: int) -> None:
    at = f"/api/v1/part-versions/{printable}/geometry"
    own = coordinator.get(at).json()
    assert own["watertight"] is True
    assert (own["scale_across"], own["scale_along"]) == (1, 1)
    scaled = coordinator.get(at, params={"scale_across": 1.2, "scale_along": 0.5}).json()
    assert scaled["bounding_box_mm"] == pytest.approx([2.4 * RADIUS, 2.4 * RADIUS, LENGTH / 2], rel=1e-5)
    assert scaled["volume_mm3"] == pytest.approx(own["volume_mm3"] * 1.2**2 * 0.5, rel=1e-6)
    prism = 32 * np.sin(np.pi / 32) * RADIUS**2 * LENGTH  # the rod has 64 sides
    assert own["volume_mm3"] == pytest.approx(prism, rel=1e-5)
    bore, coupling = scaled["features"]
    assert (bore["comes_out_mm"], bore["passes"]) == (pytest.approx(3.2 * 1.2), True)
    assert (coupling["comes_out_mm"], coupling["passes"]) == (10, False)
    assert "change the file so that it stays 20.00 mm" in coupling["sentence"]
    (petg,) = scaled["plastic"]
    assert petg["material"] == "PETG"
    assert 0 < petg["mass_g"] < scaled["volume_mm3"] * 1.27 / 1000


def test_the_small_part_verdict_says_what_it_means(coordinator: TestClient, printable: int) -> None:
    at = f"/api/v1/part-versions/{printable}/geometry"
    whole = coordinator.get(at).json()["small_part"]
    small = coordinator.get(at, params={"scale_across": 0.5, "scale_along": 0.5}).json()
    assert (whole["fits"], small["small_part"]["fits"]) == (False, True)
    said = " ".join(small["small_part_words"])
    assert "under 36 months" in said
    assert "clinician" in said
    assert "borrowed from toys" in said


def test_a_thin_wall_is_said(coordinator: TestClient) -> None:
    made = version(coordinator, design(coordinator), {}, file_of(solids.box(60, 60, 1.0)))["id"]
    own, thin = (
        coordinator.get(f"/api/v1/part-versions/{made}/geometry", params={"scale_along": along}).json()["wall"]
        for along in (1, 0.7)
    )
    assert own["whole"] is True
    assert own["thinnest_mm"] == pytest.approx(1.0, rel=0.02)
    assert thin["whole"] is False
    assert thin["thinnest_mm"] == pytest.approx(0.7, rel=0.02)
    assert "two widths of the 0.4 mm nozzle" in thin["sentence"]


def test_a_file_comes_as_a_3mf_at_the_scales_asked_for(coordinator: TestClient, printable: int) -> None:
    answer = taken(coordinator, printable, scale_across=1.1, scale_along=0.9)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "model/3mf"
    assert answer.headers["content-disposition"] == 'attachment; filename="finger-index-version-1-1100-by-0900.3mf"'
    assert mesh_in(answer.content).extents == pytest.approx([2.2 * RADIUS, 2.2 * RADIUS, 0.9 * LENGTH], rel=1e-5)
    said = written_into(answer.content)
    assert said["Title"] == "Finger, index, version 1"
    assert (said["scale_across"], said["scale_along"], said["part_version"]) == ("1.1", "0.9", str(printable))
    assert "case_number" not in said
    assert taken(coordinator, printable, scale_across=1.1, scale_along=0.9).content == answer.content
    assert mesh_in(taken(coordinator, printable).content).extents == pytest.approx([18, 18, 70], rel=1e-5)


def test_it_is_scaled_along_its_own_axis(coordinator: TestClient) -> None:
    lying = {"axis": {"direction": [2, 0, 0], "origin_mm": [0, 5, 5]}}
    made = version(coordinator, design(coordinator), lying, file_of(solids.box(100, 10, 10)))["id"]
    bounds = mesh_in(taken(coordinator, made, scale_across=2, scale_along=1.5).content).bounds
    assert bounds == pytest.approx(np.array([[0, -5, -5], [150, 15, 15]]), abs=1e-3)


@pytest.mark.parametrize(
    "asked",
    [{"scale_across": 0.1}, {"scale_along": 6}, {"scale_across": "wide"}, {"scale_across": "nan"}, {"scale": 1}],
)
def test_scales_that_cannot_be_are_refused(coordinator: TestClient, printable: int, asked: dict[str, Any]) -> None:
    for what in ("file", "geometry"):
        answer = coordinator.get(f"/api/v1/part-versions/{printable}/{what}", params=asked)
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["field"] in asked


def test_a_file_is_tied_to_a_case_the_actor_may_see(
    register: Register, coordinator: TestClient, printable: int
) -> None:
    number = opened(coordinator)
    answer = taken(coordinator, printable, case=number)
    assert written_into(answer.content)["case_number"] == number
    with register.db.reading() as session:
        acts = session.execute(
            sa.select(AuditRow.act, AuditRow.subject, AuditRow.subject_id).where(AuditRow.recipient_id.is_not(None))
        )
        assert ("downloaded", "part version", printable) in [tuple(each) for each in acts]
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    assert taken(elsewhere, printable, case=number).status_code == 404
    assert taken(elsewhere, printable).status_code == 200
    assert taken(coordinator, printable, case="482-9131").status_code == 404
    assert taken(register.api(Role.TRUSTEE), printable, case=number).status_code == 403
    assert taken(register.api(Role.TRUSTEE), printable).status_code == 200


def test_a_key_sent_with_a_fetch_changes_nothing(coordinator: TestClient, printable: int) -> None:
    answer = coordinator.get(f"/api/v1/part-versions/{printable}/file", headers={"Idempotency-Key": "a"})
    assert answer.status_code == 200
    assert answer.content.startswith(b"PK")


def test_the_file_of_a_withdrawn_version_is_not_handed_out_to_print(coordinator: TestClient, printable: int) -> None:
    design_id = coordinator.get(f"/api/v1/part-versions/{printable}").json()["design"]
    newer = released(coordinator, design_id, {"what_changed": "Longer."}, finger(80))
    assert move(coordinator, printable, "withdraw", why="The tongue broke.", successor=newer).status_code == 200
    answer = taken(coordinator, printable)
    assert answer.status_code == 409
    assert "The tongue broke. Print Finger, index, version 2" in answer.json()["detail"]
    assert coordinator.get(f"/api/v1/part-versions/{printable}/original").content == finger()


def test_the_file_as_it_was_sent_comes_back_under_a_name_of_ours(coordinator: TestClient) -> None:
    made = version(coordinator, design(coordinator), name='x";\r\n evil=".stl')
    answer = coordinator.get(f"/api/v1/part-versions/{made['id']}/original")
    assert answer.content == finger()
    assert answer.headers["content-type"] == "model/stl"
    assert answer.headers["content-disposition"] == f'attachment; filename="version-{made["id"]}.stl"'
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_a_file_the_store_has_lost_is_said_to_be_lost(
    register: Register, coordinator: TestClient, printable: int
) -> None:
    sha256 = coordinator.get(f"/api/v1/part-versions/{printable}").json()["file"]["sha256"]
    (register.settings.data / "files" / sha256[:2] / sha256).unlink()
    for what in ("file", "original", "geometry?scale_across=1.1"):
        answer = coordinator.get(f"/api/v1/part-versions/{printable}/{what}")
        assert answer.status_code == 404
        assert "missing from the register's store" in answer.json()["detail"]
    assert coordinator.get(f"/api/v1/part-versions/{printable}/geometry").status_code == 200
