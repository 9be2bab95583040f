"""A part at two scales, as a 3MF: read back by other libraries, to a thousandth of a mm, and the same each time."""

from __future__ import annotations

import io
import zipfile
from typing import Any

import lib3mf
import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from service.geometry.answers import Axis, Format, LengthUnit
from service.geometry.mesh import Mesh
from service.geometry.reading import scaled
from service.geometry.three_mf import read_three_mf
from service.geometry.writing import OURS, metadata_name, write_three_mf
from tests.geometry.files import box, model_xml, object_xml, stl, three_mf

MM = LengthUnit.MILLIMETRE
MICROMETRE = 1e-3  # mm
Metadata = dict[tuple[str, str], str]

numbers = st.floats(-500, 500)
points = st.tuples(numbers, numbers, numbers)
directions = points.filter(lambda each: sum(x * x for x in each) > 1e-3)
factors = st.floats(0.2, 5)


def opened(content: bytes) -> tuple[np.ndarray, np.ndarray, Any, Metadata]:
    """Corners, triangles, model and metadata, as the standard's own library reads them when it is strict."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(content)
    assert reader.GetWarningCount() == 0
    meshes = model.GetMeshObjects()
    assert meshes.MoveNext()
    mesh = meshes.GetCurrentMeshObject()
    assert mesh.IsValid()
    vertices = np.array([list(each.Coordinates) for each in mesh.GetVertices()])
    faces = np.array([list(each.Indices) for each in mesh.GetTriangleIndices()])
    group = model.GetMetaDataGroup()
    found = (group.GetMetaData(n) for n in range(group.GetMetaDataCount()))
    return vertices, faces, model, {(each.GetNameSpace(), each.GetName()): each.GetValue() for each in found}


@given(
    points=st.lists(points, min_size=3, max_size=9), origin=points, direction=directions, across=factors, along=factors
)
def test_lengths_grow_along_the_axis_and_square_to_it_and_its_origin_stays(
    points: list[tuple[float, float, float]],
    origin: tuple[float, float, float],
    direction: tuple[float, float, float],
    across: float,
    along: float,
) -> None:
    mesh = Mesh(np.array(points), np.arange(3).reshape(1, 3))
    axis = Axis(origin_mm=origin, direction=direction)
    unit = np.array(direction) / np.linalg.norm(direction)

    def apart(vertices: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        away = vertices - origin
        length = away @ unit
        return length, away - np.outer(length, unit)

    before, after = apart(mesh.vertices), apart(mesh.scaled(axis, across, along).vertices)
    np.testing.assert_allclose(after[0], along * before[0], atol=1e-7)
    np.testing.assert_allclose(after[1], across * before[1], atol=1e-7)


def test_a_part_comes_out_at_its_scales_in_mm_and_closed() -> None:
    sphere = trimesh.creation.icosphere(3, radius=1.2)
    axis = Axis(origin_mm=(0, 0, 10), direction=(0, 0, -3))
    content = scaled(sphere.export(file_type="stl"), Format.STL, LengthUnit.INCH, axis, 1.1, 0.9, {})
    vertices, faces, model, _ = opened(content)
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    assert len(vertices) == len(sphere.vertices)
    assert len(faces) == len(sphere.faces)
    expected = sphere.vertices.astype("f4").astype("f8") * 25.4
    expected = (expected - (0, 0, 10)) * (1.1, 1.1, 0.9) + (0, 0, 10)
    found = trimesh.Trimesh(vertices, faces, process=False)
    assert found.is_watertight
    assert found.is_winding_consistent
    assert found.volume == pytest.approx(sphere.volume * 25.4**3 * 1.1**2 * 0.9, rel=1e-5)
    gaps = [np.linalg.norm(vertices - each, axis=1).min() for each in expected]
    assert max(gaps) < MICROMETRE


def test_corners_return_to_a_thousandth_of_a_millimetre() -> None:
    chance = np.random.default_rng(5)
    mesh = Mesh(chance.uniform(-900, 900, (600, 3)), np.arange(600).reshape(-1, 3))
    back = read_three_mf(write_three_mf(mesh, {}))
    assert np.abs(back.vertices - mesh.vertices).max() < MICROMETRE / 10
    np.testing.assert_array_equal(back.faces, mesh.faces)


def test_another_library_reads_the_same() -> None:
    content = scaled(stl(box()), Format.STL, MM, Axis(), 1.25, 0.8, {"Title": "Palm"})
    found = trimesh.load_scene(io.BytesIO(content), file_type="3mf").to_mesh()
    assert found.extents == pytest.approx((50, 37.5, 80))
    assert found.is_watertight
    assert len(found.vertices) == 8


def test_the_same_part_gives_the_same_bytes_and_another_scale_others() -> None:
    def once(along: float) -> bytes:
        return scaled(stl(box()), Format.STL, MM, Axis(), 1.1, along, {"Title": "Palm", "case number": "H-12"})

    assert once(1.2) == once(1.2)
    assert once(1.2) != once(1.200_01)
    with zipfile.ZipFile(io.BytesIO(once(1.2))) as package:
        assert {each.date_time for each in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert package.testzip() is None


def test_metadata_carry_the_standards_names_where_it_has_one_and_ours_where_not() -> None:
    given_ = {
        "Title": "Palm, left",
        "description": "For <small> hands & large; \u201cas is\u201d \U0001f9be",
        "license terms": "CC BY 4.0",
        "case number": "H-2026-014",
        "version": "3",
        "scale across": "1.10",
        "2nd note": "x",
    }
    _, _, _, found = opened(scaled(stl(box()), Format.STL, MM, Axis(), 1, 1, given_))
    assert found == {
        ("", "Title"): "Palm, left",
        ("", "Description"): given_["description"],
        ("", "LicenseTerms"): "CC BY 4.0",
        (OURS, "case_number"): "H-2026-014",
        (OURS, "version"): "3",
        (OURS, "scale_across"): "1.10",
        (OURS, "_2nd_note"): "x",
    }


@given(st.dictionaries(st.text(max_size=20), st.text(max_size=40), max_size=4))
def test_whatever_is_written_as_metadata_the_file_can_be_read(metadata: dict[str, str]) -> None:
    names = [metadata_name(name) for name in metadata]
    if len(set(names)) < len(names):
        with pytest.raises(ValueError, match="two metadata"):
            write_three_mf(box(), metadata)
        return
    _, faces, _, found = opened(write_three_mf(box(), metadata))
    assert len(faces) == 12
    assert len(found) == len(metadata)


def test_triangles_without_area_are_left_out_and_the_rest_stays_closed() -> None:
    """A corner that was drawn twice, with the sliver between: joining its copies leaves nothing of the sliver."""
    mesh = box()
    vertices = np.vstack([mesh.vertices, mesh.vertices[:1]])
    faces = np.vstack([mesh.faces, [[0, 8, 1]]])
    content = scaled(stl(Mesh(vertices, faces)), Format.STL, MM, Axis(), 1, 1, {})
    _, written, _, _ = opened(content)
    assert len(written) == 12


def test_two_bodies_of_a_3mf_that_touch_stay_two() -> None:
    """Corners in the same place belong to two bodies here; one mesh of them would have edges with four faces."""
    two = object_xml(box()) + object_xml(box(at=(40, 0, 0)), number=2)
    content = three_mf(model_xml(two, '<item objectid="1"/><item objectid="2"/>'))
    vertices, faces, _, _ = opened(scaled(content, Format.THREE_MF, None, Axis(), 1, 1, {}))
    assert len(vertices) == 16
    assert len(trimesh.Trimesh(vertices, faces, process=False).split()) == 2


def test_what_was_written_is_scaled_again_as_it_is() -> None:
    once = scaled(stl(box()), Format.STL, MM, Axis(), 1.5, 1.5, {})
    twice = scaled(once, Format.THREE_MF, None, Axis(), 2, 2, {})
    assert np.ptp(read_three_mf(twice).vertices, axis=0) == pytest.approx((120, 90, 300))
