"""Good files: what is in them is what is read, in the unit they are in, all of it where it goes."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from service.geometry.answers import Axis, Format, Inside, LengthUnit
from service.geometry.mesh import Drawn, Mesh
from service.geometry.model_part import CORE, PRODUCTION
from service.geometry.reading import at_scale, format_of, read
from service.geometry.stl import read_stl
from service.geometry.three_mf import read_three_mf
from service.kit.unfit import Unfit
from tests.geometry.files import box, model_xml, object_xml, relationships_xml, stl, text_stl, three_mf, zipped
from tests.geometry.solids import socket

MM, INCH = LengthUnit.MILLIMETRE, LengthUnit.INCH
AXIS = Axis()


def volume(drawn: Drawn) -> float:
    """The closed volume, negative when it is inside out."""
    a, b, c = drawn.vertices[drawn.faces].transpose(1, 0, 2)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


@pytest.mark.parametrize("name", ["part.stl", "PART.STL", "my part (2).Stl", "folder/part.stl"])
def test_the_kind_of_an_stl_is_told_by_name_and_beginning(name: str) -> None:
    assert format_of(name, stl(box())) is Format.STL
    assert format_of(name, text_stl(box())) is Format.STL


def test_the_kind_of_a_3mf_is_told_by_name_and_beginning() -> None:
    assert format_of("part.3MF", three_mf()) is Format.THREE_MF


def test_a_file_over_the_bound_is_refused_before_it_is_read() -> None:
    with pytest.raises(Unfit, match="65 MB, and 64 MB are the most"):
        format_of("part.stl", bytes(65 * 2**20))
    with pytest.raises(Unfit, match="65 MB, and 64 MB are the most"):
        read(bytes(65 * 2**20), Format.STL, MM, AXIS, None)


def test_a_binary_stl_and_its_text_are_read_alike() -> None:
    sphere = trimesh.creation.icosphere(2, radius=30)
    binary = read_stl(sphere.export(file_type="stl"))
    np.testing.assert_allclose(binary.vertices[binary.faces], sphere.triangles, atol=1e-5)
    text = read_stl(text_stl(Mesh(sphere.vertices, sphere.faces)))
    np.testing.assert_allclose(text.vertices[text.faces], sphere.triangles, atol=1e-4)


def test_a_binary_stl_may_begin_with_the_word_of_a_text() -> None:
    assert len(read_stl(stl(box(), header=b"solid part with every facet of it")).faces) == 12


def test_a_text_may_hold_several_solids_in_capitals_and_with_windows_lines() -> None:
    two = text_stl(box()) + text_stl(box(at=(90, 0, 0)), title="")
    assert len(read_stl(two.upper().replace(b"\n", b"\r\n")).faces) == 24


def test_normals_may_be_anything_for_they_are_not_used() -> None:
    assert len(read_stl(text_stl(box()).replace(b"normal 0 0 0", b"normal nan -nan(ind) 1.#INF")).faces) == 12


def test_an_stl_needs_a_unit() -> None:
    with pytest.raises(Unfit, match=r"does not say what unit.*Say which"):
        read(stl(box()), Format.STL, None, AXIS, None)


@pytest.mark.parametrize(
    ("unit", "size"), [(MM, 100), (INCH, 100 / 25.4), (LengthUnit.CENTIMETRE, 10), (LengthUnit.METRE, 0.1)]
)
def test_an_stl_is_read_in_the_unit_said(unit: LengthUnit, size: float) -> None:
    found = read(stl(box(0.4 * size, 0.3 * size, size)), Format.STL, unit, AXIS, None)
    assert found.unit is unit
    assert found.geometry.bounding_box_mm == pytest.approx((40, 30, 100), rel=1e-6)
    assert found.geometry.doubts == []


def test_what_is_read_are_figures_a_picture_and_the_unit() -> None:
    found = read(stl(box()), Format.STL, MM, AXIS, None)
    assert found.geometry.triangles == 12
    assert found.geometry.watertight
    assert found.geometry.volume_mm3 == pytest.approx(40 * 30 * 100, rel=1e-6)
    assert found.picture_svg.startswith(b"<svg")


def test_a_3mf_carries_its_unit() -> None:
    content = three_mf(model_xml(object_xml(box(1.6, 1.2, 4)), attributes=' unit="inch"'))
    found = read(content, Format.THREE_MF, None, AXIS, None)
    assert found.unit is INCH
    assert found.geometry.bounding_box_mm == pytest.approx((40.64, 30.48, 101.6))
    assert read(content, Format.THREE_MF, INCH, AXIS, None).unit is INCH


@pytest.mark.parametrize("attributes", [' unit="inch"', ""])
def test_a_3mf_that_says_otherwise_is_refused_saying_both(attributes: str) -> None:
    other = INCH if not attributes else MM
    with pytest.raises(Unfit) as refusal:
        read(three_mf(model_xml(attributes=attributes)), Format.THREE_MF, other, AXIS, None)
    assert "inches" in refusal.value.message
    assert "millimetres" in refusal.value.message


def test_a_socket_of_an_inch_and_a_half_is_doubted_where_another_part_is_not() -> None:
    content = stl(box(16, 16, 38))
    assert read(content, Format.STL, MM, AXIS, None).geometry.doubts == []
    doubts = read(content, Format.STL, MM, AXIS, Inside()).geometry.doubts
    assert any("only 38 mm at its longest, and a socket is hardly ever so small" in each for each in doubts)


@pytest.mark.parametrize("longest", [12.0, 38.0, 180.0, 480.0])
def test_sizes_of_parts_are_not_doubted(longest: float) -> None:
    assert read(stl(box(9, 9, longest)), Format.STL, MM, AXIS, None).geometry.doubts == []


def test_corners_that_no_triangle_uses_do_not_count() -> None:
    mesh = box()
    lost = object_xml(mesh).replace("</vertices>", '<vertex x="1e7" y="0" z="0"/></vertices>')
    assert read(three_mf(model_xml(lost)), Format.THREE_MF, None, AXIS, None).geometry.bounding_box_mm == (40, 30, 100)


def test_a_package_that_names_no_start_is_read_by_its_usual_name() -> None:
    assert len(read_three_mf(zipped([("3D/3dmodel.model", model_xml())])).faces) == 12


def test_a_package_may_call_its_model_otherwise() -> None:
    more = {
        "_rels/.rels": relationships_xml("/parts/Palm%20left.model"),
        "parts/palm left.model": model_xml(object_xml(box(1))),
    }
    assert np.ptp(read_three_mf(three_mf(more=more)).vertices, axis=0) == pytest.approx((1, 30, 100))


def test_a_model_may_forget_its_namespace() -> None:
    assert len(read_three_mf(three_mf(model_xml().replace(f' xmlns="{CORE}"', ""))).faces) == 12


def test_a_model_may_use_a_prefix_for_the_standards_own_elements() -> None:
    _, _, model = model_xml().partition("\n")
    prefixed = re.sub(r"<(/?)(?=\w)", r"<\1c:", model).replace(f'xmlns="{CORE}"', f'xmlns:c="{CORE}"')
    assert len(read_three_mf(three_mf(prefixed)).faces) == 12


def test_objects_are_put_together_where_they_go() -> None:
    """A component turned and moved inside an object that is itself turned and moved, against a second opinion."""
    first, second = Rotation.from_euler("xyz", [30, 40, 50], degrees=True), Rotation.from_euler("z", 90, degrees=True)
    inner, outer = transform(first.as_matrix(), (10, 20, 30)), transform(second.as_matrix(), (5, 0, 0))
    components = f'<components><component objectid="1" transform="{inner}"/><component objectid="1"/></components>'
    model = model_xml(
        object_xml() + object_xml(number=2, inner=components),
        f'<item objectid="2" transform="{outer}"/><item objectid="1"/>',
    )
    drawn = read_three_mf(three_mf(model))
    assert len(drawn.faces) == 36
    expected = np.add(second.apply(np.add(first.apply(box().vertices), (10, 20, 30))), (5, 0, 0))
    np.testing.assert_allclose(drawn.vertices[:8], expected, atol=1e-5)
    other = trimesh.load_scene(io.BytesIO(three_mf(model)), file_type="3mf").to_mesh()
    assert volume(drawn) == pytest.approx(other.volume)
    np.testing.assert_allclose(sorted(drawn.vertices.tolist()), sorted(other.vertices.tolist()), atol=1e-4)


def transform(matrix: np.ndarray, to: tuple[float, float, float]) -> str:
    """Rows of the transposed matrix, as points stand on its left."""
    return " ".join(f"{value:.9f}" for value in [*matrix.T.ravel(), *to])


def test_a_model_in_another_file_of_the_package_is_followed() -> None:
    component = '<components><component objectid="1" p:path="/3D/Objects/a.model"/></components>'
    root = model_xml(object_xml(number=8, inner=component), '<item objectid="8"/>', ' requiredextensions="p"')
    root = root.replace("<model ", f'<model xmlns:p="{PRODUCTION}" ', 1)
    drawn = read_three_mf(three_mf(root, {"3D/Objects/a.model": model_xml(attributes="")}))
    assert volume(drawn) == pytest.approx(40 * 30 * 100)


def test_colours_and_their_extension_are_passed_over() -> None:
    colours = '<m:colorgroup id="5"><m:color color="#FF0000FF"/></m:colorgroup>'
    material = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02"
    model = model_xml(colours + object_xml(), attributes=f' xmlns:m="{material}" requiredextensions="m"')
    assert len(read_three_mf(three_mf(model)).faces) == 12


def test_what_another_library_writes_is_read() -> None:
    sphere, brick = trimesh.creation.icosphere(2, radius=20), trimesh.creation.box((10, 20, 30))
    scene = trimesh.Scene([sphere, brick.apply_translation((60, 0, 0))])
    assert volume(read_three_mf(scene.export(file_type="3mf"))) == pytest.approx(scene.volume, rel=1e-6)


def test_the_figures_at_a_scale_are_those_of_the_scaled_mesh() -> None:
    along_y = Axis(origin_mm=(0, 15, 0), direction=(0, 2, 0))
    geometry = at_scale(stl(box()), Format.STL, MM, along_y, None, across=1.1, along=1.5)
    assert geometry.bounding_box_mm == pytest.approx((44, 45, 110), rel=1e-6)


@pytest.mark.parametrize("level_at_origin_mm", [0.0, 30.0])
def test_the_levels_of_a_scaled_socket_are_those_of_a_limb_that_grew_from_its_landmark(
    level_at_origin_mm: float,
) -> None:
    # However the file lies beside the landmark, what was at a level is at that level times the scale.
    content, inside = stl(socket(35, 25, 100, 3)), Inside(level_at_origin_mm=level_at_origin_mm)
    before = read(content, Format.STL, MM, AXIS, inside).geometry.inside_profile
    after = at_scale(content, Format.STL, MM, AXIS, inside, 1.0, 1.25).inside_profile
    levels = [each.level_mm for each in before]
    for each in after:
        if levels[0] <= each.level_mm / 1.25 <= levels[-1]:
            there = np.interp(each.level_mm / 1.25, levels, [point.girth_mm for point in before])
            assert each.girth_mm == pytest.approx(there, rel=2e-3)
    assert sum(levels[0] <= each.level_mm / 1.25 <= levels[-1] for each in after) > 10
