"""What the demo draws is closed, faces outwards, is light, and measures what it says."""

from __future__ import annotations

import io
import json
import shutil
import sys
from math import pi
from pathlib import Path

import numpy as np
import pytest
import trimesh

from seed_data import drawings, limbs, meshes, solids
from seed_data.make import REGISTER
from seed_data.meshes import Bore, plate, turned
from service.demo import drawings as demo_drawings
from service.settings import resource

STORY = [event for events in json.loads(REGISTER.read_text(encoding="utf-8")) for event in events]
DRAWN = [event for event in STORY if "drawn" in event]
LIGHTEST, HEAVIEST = 300, 3_000  # triangles


def words(event):
    return f"{event.get('design', event['what'])} {event.get('number', event['ago'])}"


def opened(solid):
    return trimesh.Trimesh(solid.vertices, solid.faces, process=False)


def girths(solid, z):
    """What a tape reads around each loop of a cut, mm, the inner ones first."""
    loops = opened(solid).section(plane_origin=(0, 0, z), plane_normal=(0, 0, 1)).discrete
    return sorted(float(np.linalg.norm(np.diff(loop, axis=0), axis=1).sum()) for loop in loops)


@pytest.mark.parametrize("event", DRAWN, ids=words)
def test_every_file_of_the_story_is_closed_and_light(event):
    mesh = opened(drawings.solid(event["drawn"], event.get("with", {})))
    assert mesh.is_watertight is (event.get("method") != "scan")
    assert mesh.is_winding_consistent
    assert mesh.volume > 0
    assert LIGHTEST <= len(mesh.faces) <= HEAVIEST


def test_no_two_files_are_the_same():
    files = {drawings.drawn(each)[1] for each in DRAWN}
    assert len(files) == len(DRAWN)


@pytest.mark.parametrize("written", ["stl", "3mf"])
def test_a_file_holds_what_was_drawn(written):
    event = {"drawn": "coupling", "with": {"neck": 12.0}, "format": written, "design": "Oarlock coupling", "number": 1}
    name, content = drawings.drawn(event)
    assert name == f"oarlock-coupling-1.{written}"
    read = trimesh.load_mesh(io.BytesIO(content), file_type=written)
    assert read.volume == pytest.approx(solids.coupling(neck=12.0).volume, rel=1e-5)
    assert drawings.drawn(event)[1] == content


def test_a_wheel_draws_from_what_travels_inside_it(tmp_path, monkeypatch):
    shutil.copytree(resource("seed_data"), tmp_path / "seed_data")
    for name in [each for each in sys.modules if each.partition(".")[0] == "seed_data"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(demo_drawings, "resource", lambda name: tmp_path / name)
    found = demo_drawings._solids()
    assert Path(found.__file__).is_relative_to(tmp_path)
    assert found.solid("thumb", {}).volume > 0


def test_a_bore_takes_as_much_away_as_a_drill():
    block = plate((-5, 5), (0, 20), (0, 8), bores=[Bore(0, 10, 4, 4)])
    corners = 16
    prism = 8 * corners * 2**2 * np.sin(2 * pi / corners) / 2
    assert block.volume == pytest.approx(10 * 20 * 8 - prism, rel=1e-9)


def test_turned_blocks_are_a_tube():
    tube = turned((5, 10), (0, 30), 60)
    wedge = 60 * np.sin(2 * pi / 60) / 2
    assert tube.volume == pytest.approx(30 * wedge * (10**2 - 5**2), rel=1e-9)


def test_what_is_mirrored_still_faces_outwards():
    left, right = solids.palm(sided=True, mirror=True), solids.palm(sided=True)
    assert left.volume == pytest.approx(right.volume)
    assert left.vertices[:, 0].max() == pytest.approx(-right.vertices[:, 0].min())


def test_a_finger_hinges_on_the_pin_its_version_names():
    finger = next(event for event in DRAWN if event.get("design") == "Fairlead finger")
    hinge = next(feature for feature in finger["features"] if feature["note"] == "hinge")
    solid = drawings.solid(finger["drawn"], finger.get("with", {}))
    _, _, z = hinge["position_mm"]
    near = solid.vertices[np.abs(solid.vertices[:, 0]) < 0.1]
    from_axis = np.hypot(near[:, 1] - 0.18 * near[:, 2] ** 2 / 68, near[:, 2] - z)
    assert 2 * from_axis.min() == pytest.approx(hinge["nominal_mm"], abs=0.1)


@pytest.mark.parametrize("level", [20, 45, 88])
def test_a_tape_inside_a_socket_reads_its_profile(level):
    profile = [(8, 205.0), (30, 190.0), (110, 150.0)]
    solid = limbs.socket(profile, wall=3.0)
    inner, outer = girths(solid, level - 8)
    levels, sizes = zip(*profile, strict=True)
    assert inner == pytest.approx(np.interp(level, levels, sizes), abs=0.7)  # rings do not lie at every level
    assert outer - inner == pytest.approx(2 * pi * 3.0, rel=0.03)


def test_a_socket_keeps_its_wall_around_the_end():
    solid = limbs.socket([(8, 150.0), (54, 130.0)], wall=3.0)
    mesh = opened(solid)
    inside = solid.vertices[: len(solid.vertices) // 2 - 1]
    outside = trimesh.Trimesh(
        solid.vertices, mesh.faces[trimesh.triangles.normals(mesh.triangles)[0] @ [0, 0, 1] > 0.5]
    )
    _, apart, _ = trimesh.proximity.closest_point_naive(outside, inside)
    assert apart.min() > 2.2


def test_a_cup_that_would_have_a_hole_in_its_end_is_refused():
    ring = limbs._ring(0.0, 100.0, 1.0)
    with pytest.raises(ValueError, match=r"wall of 3\.0 mm"):
        solids.shell([ring], [ring], blind=10, tip=12, wall=3)


def test_nothing_unknown_is_drawn():
    with pytest.raises(KeyError):
        drawings.solid("claw", {})


def test_an_stl_says_how_many_triangles_it_has():
    content = meshes.stl(solids.thumb())
    assert len(content) == 84 + 50 * int.from_bytes(content[80:84], "little")
