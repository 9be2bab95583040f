"""3MF files against the standard: 3MF Core Specification 1.x (3MF Consortium); sections are named beside each check."""

from __future__ import annotations

import lib3mf
import numpy as np
import pytest

from service.geometry.answers import Axis, Format, LengthUnit
from service.geometry.mesh import Mesh
from service.geometry.reading import read, scaled
from service.geometry.stl import read_stl
from service.geometry.three_mf import UNITS, read_three_mf
from service.geometry.writing import STANDARD_NAMES
from service.kit.unfit import Unfit
from tests.geometry.files import TRIANGLE, box, model_xml, object_xml, stl, three_mf

MM = LengthUnit.MILLIMETRE


def signed_volume(content: bytes) -> float:
    drawn = read_three_mf(content)
    a, b, c = drawn.vertices[drawn.faces].transpose(1, 0, 2)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def test_a_model_without_a_unit_is_in_millimetres() -> None:
    found = read(three_mf(model_xml(attributes="")), Format.THREE_MF, None, Axis(), None)  # 3.4, table: default
    assert found.unit is MM
    assert found.geometry.bounding_box_mm == (40, 30, 100)


# The names: 3.4. An inch is 25.4 mm and a foot twelve inches: international yard and pound agreement, 1959.
@pytest.mark.parametrize(
    ("name", "millimetres"),
    [("micron", 0.001), ("millimeter", 1), ("centimeter", 10), ("inch", 25.4), ("foot", 304.8), ("meter", 1000)],
)
def test_the_units_are_the_standards_and_as_long_as_they_are(name: str, millimetres: float) -> None:
    size = np.array([40, 30, 100]) / millimetres
    model = model_xml(object_xml(box(*size.tolist())), attributes=f' unit="{name}"')
    geometry = read(three_mf(model), Format.THREE_MF, None, Axis(), None).geometry
    assert geometry.bounding_box_mm == pytest.approx((40, 30, 100))
    assert len(UNITS) == 6


def test_metadata_without_a_namespace_are_the_nine_that_the_standard_names() -> None:
    assert set(STANDARD_NAMES) == {  # 3.4.1, table 3-1
        *("Title", "Designer", "Description", "Copyright", "LicenseTerms", "Rating"),
        *("CreationDate", "ModificationDate", "Application"),
    }


def test_a_transform_is_three_rows_and_a_place_for_points_on_its_left() -> None:
    # 3.3: "m00 m01 m02 m10 m11 m12 m20 m21 m22 m30 m31 m32"; x goes to m00 m01 m02.
    model = model_xml(items='<item objectid="1" transform="0 1 0 0 0 1 1 0 0 7 8 9"/>')
    drawn = read_three_mf(three_mf(model))
    corner = np.flatnonzero((box().vertices == (40, 0, 0)).all(axis=1))
    assert drawn.vertices[corner].tolist() == [[7, 48, 9]]


def test_a_mirrored_object_keeps_the_sign_of_its_volume() -> None:
    mirrored = model_xml(items='<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>')  # 3.3
    assert signed_volume(three_mf(mirrored)) == pytest.approx(40 * 30 * 100)


def test_only_what_is_in_the_build_is_printed_and_nothing_of_the_type_other() -> None:
    two = object_xml() + object_xml(box(1, 1, 1), number=2)  # 3.4.3
    assert len(read_three_mf(three_mf(model_xml(two))).faces) == 12
    drawn = read_three_mf(
        three_mf(
            model_xml(
                object_xml() + object_xml(number=2, more=' type="other"'), '<item objectid="1"/><item objectid="2"/>'
            )
        )
    )
    assert len(drawn.faces) == 12
    assert drawn.doubts  # 3.4.3.1: an item must not reference it, so whoever sent it should look


def test_the_type_of_an_object_that_is_made_from_others_is_ignored() -> None:
    made = object_xml(number=2, inner='<components><component objectid="1"/></components>', more=' type="support"')  # 4
    drawn = read_three_mf(three_mf(model_xml(object_xml() + made, '<item objectid="2"/>')))
    assert len(drawn.faces) == 12
    assert drawn.doubts == []


def test_a_document_type_is_an_error() -> None:
    with pytest.raises(Unfit, match="document type"):  # 2.3.2, rule 2
        read_three_mf(three_mf(model_xml().replace("?>", "?><!DOCTYPE model>", 1)))


def test_what_a_file_requires_and_is_not_known_is_not_ignored() -> None:
    with pytest.raises(Unfit, match="cannot be understood without"):  # 2.3.1
        read_three_mf(three_mf(model_xml(attributes=' xmlns:x="http://example.org/x" requiredextensions="x"')))


def test_an_stl_is_little_endian_with_fifty_bytes_a_triangle() -> None:
    # From memory, to verify: 80 bytes, a count of four, then normal, three corners and two bytes each.
    assert TRIANGLE.size == 50
    content = bytes(80) + (1).to_bytes(4, "little") + TRIANGLE.pack(0, 0, 1, 0, 0, 0, 5, 0, 0, 0, 7, 0, 0)
    assert read_stl(content).vertices.tolist() == [[0, 0, 0], [5, 0, 0], [0, 7, 0]]


@pytest.mark.parametrize("mirror", [1.0, -1.0])
def test_the_consortiums_own_library_writes_what_is_read(mirror: float) -> None:
    """An object from components, in inches, against where that library says its corners are."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.Inch)
    mesh = model.AddMeshObject()
    for corner in (box().vertices / 25.4).tolist():
        mesh.AddVertex(lib3mf.Position((lib3mf.ctypes.c_float * 3)(*corner)))
    for face in box().faces.tolist():
        mesh.AddTriangle(lib3mf.Triangle((lib3mf.ctypes.c_uint32 * 3)(*face)))
    whole = model.AddComponentsObject()
    moved = wrapper.GetTranslationTransform(1.0, 2.0, 3.0)
    whole.AddComponent(mesh, moved)
    model.AddBuildItem(whole, wrapper.GetScaleTransform(mirror, 1.0, 1.0))
    written = bytes(model.QueryWriter("3mf").WriteToBuffer())

    found = read(written, Format.THREE_MF, None, Axis(), None)
    assert found.unit is LengthUnit.INCH
    assert found.geometry.volume_mm3 == pytest.approx(40 * 30 * 100, rel=1e-5)
    outbox = model.GetOutbox()
    corners = read_three_mf(written).vertices
    assert corners.min(axis=0) == pytest.approx(list(outbox.MinCoordinate), abs=1e-5)
    assert corners.max(axis=0) == pytest.approx(list(outbox.MaxCoordinate), abs=1e-5)


def test_the_consortiums_own_library_takes_what_is_written_as_strictly_as_it_can() -> None:
    sheared = Mesh(box().vertices @ np.array([[1, 0.2, 0], [0, 1, 0.1], [0, 0, 1]]), box().faces)
    content = scaled(
        stl(sheared), Format.STL, MM, Axis(direction=(1, 2, 3)), 1.3, 0.7, {"case": "H-1", "Title": "Palm"}
    )
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(content)
    assert reader.GetWarningCount() == 0
    meshes = model.GetMeshObjects()
    assert meshes.MoveNext()
    assert meshes.GetCurrentMeshObject().IsManifoldAndOriented()
