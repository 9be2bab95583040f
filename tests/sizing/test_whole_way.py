"""From a scan of a limb to the file of the next socket: sent, read, worn, sized, and measured once more as printed."""

from __future__ import annotations

import io
import json
from math import pi, sin
from typing import Any

import numpy as np
import pytest
import trimesh
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.assembly.things import a_device
from tests.conftest import Register
from tests.geometry import solids
from tests.sizing.files import inside, limb, measured, printed
from tests.sizing.test_register import next_sizes

AROUND, DEEP_MM, WALL_MM = 96, 120.0, 3.0
CORNERS = AROUND * sin(pi / AROUND) / pi
"""What a polygon's outline is of its circle's."""


def cup() -> bytes:
    """An STL of a cup whose inside has the girths of `files.inside`, open at the landmark and closed at 120 mm."""
    wide, narrow = (inside(level) / (2 * pi * CORNERS) for level in (0.0, DEEP_MM))
    mesh = solids.socket(wide, narrow, DEEP_MM, WALL_MM, sides=AROUND)
    stl = trimesh.Trimesh(mesh.vertices, mesh.faces).export(file_type="stl")
    assert isinstance(stl, bytes)
    return stl


def sent(client: TestClient, path: str, **data: Any) -> dict[str, Any]:
    """Send the cup with what is said of it."""
    file, said = {"file": ("cup.stl", cup(), "model/stl")}, {"data": json.dumps({"unit": "mm", **data})}
    answer = client.post(f"/api/v1/recipients/{path}", files=file, data=said)
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def girth_inside(mesh: trimesh.Trimesh, level: float) -> float:
    """The shortest outline of a section square to the axis, mm: the inside of the wall."""
    section = mesh.section(plane_origin=[0, 0, level], plane_normal=[0, 0, 1])
    assert section is not None
    loops = [np.linalg.norm(np.diff(loop, axis=0), axis=1).sum() for loop in section.discrete]
    return float(min(loops))


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def test_the_file_of_the_next_socket_leaves_the_room_that_was_said(coordinator: TestClient) -> None:
    number, worn = a_device(coordinator)
    measured(coordinator, number, limb(1.0, 30, 60, 90))
    shape = sent(coordinator, f"{number}/shapes", side="left", taken_on="2025-12-20", method="scan")["id"]
    lies = {"dimension": "residual_limb_girth", "level_at_origin_mm": 0.0, "liner_mm": 0.0}
    version = sent(coordinator, f"{number}/shapes/{shape}/versions", inside=lies, materials=["PETG"])
    assert version["geometry"]["watertight"]
    beside = coordinator.get(f"/api/v1/recipients/{number}/socket-versions/{version['id']}/fit?across=1.07").json()
    for each in beside["levels"]:
        if each["basis"] == "measured":
            assert each["inside_mm"] == pytest.approx(1.07 * inside(each["level_mm"]), rel=0.001)

    made_out = coordinator.post(f"/api/v1/part-versions/{version['id']}/release", json={"why": "Tried on the bench."})
    assert made_out.status_code == 200, made_out.text
    printed(coordinator, number, worn, version["id"], scale_across=1.07)
    (found,) = next_sizes(coordinator, number)
    assert found["next"]["verdict"] == "fits"
    answer = coordinator.get(found["file"]["print"])
    assert answer.status_code == 200, answer.text
    mesh = trimesh.load_mesh(io.BytesIO(answer.content), file_type="3mf")
    girths = [each for each in found["levels"] if each["basis"] == "measured"]
    assert [each["level_mm"] for each in girths] == [30, 60, 90]
    for each in girths:
        assert girth_inside(mesh, each["level_mm"]) == pytest.approx(each["inside_mm"], rel=0.001)
        assert each["inside_mm"] - each["limb_mm"] == pytest.approx(each["room_mm"], abs=0.11)
    assert mesh.bounding_box.extents == pytest.approx(found["box_mm"], rel=0.002)
