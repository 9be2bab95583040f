"""STL files that are not what they say. Those that are merely odd are read, with the doubt that stands beside them."""

from __future__ import annotations

import math
import struct
from collections.abc import Callable

import numpy as np

from service.geometry.mesh import Mesh
from tests.geometry.files import box, stl, stl_of, text_stl

NAN, INF = math.nan, math.inf


def _with(value: float) -> bytes:
    mesh = box()
    mesh.vertices[0, 0] = value
    return stl(mesh)


def _times(factor: float) -> bytes:
    return stl(Mesh(box().vertices * factor, box().faces))


def _slanting_plane() -> bytes:
    corners = np.array([(0, 0, 0), (60, 0, 20), (60, 60, 50), (0, 60, 30)], dtype=float)
    return stl(Mesh(corners, np.array([(0, 1, 2), (0, 2, 3)])))


def _needles() -> bytes:
    """Triangles so thin that single precision leaves nothing of their width."""
    chance = np.random.default_rng(1)
    starts, ends = chance.uniform(-50, 50, (2, 2000, 3))
    return stl_of(np.stack([starts, starts + chance.normal(0, 1e-7, starts.shape), ends], axis=1).tolist())


def _again(times: int) -> bytes:
    mesh = box()
    return stl(Mesh(mesh.vertices, np.tile(mesh.faces, (times, 1))))


def _text(old: str, new: str, count: int = -1) -> bytes:
    return text_stl(box()).decode().replace(old, new, count).encode()


def _noise(size: int) -> bytes:
    return np.random.default_rng(7).bytes(size)


_CUT = r"cut short"
_NOT_STL = r"not what an STL says there|text, but not the text of an STL|too short|room in it"

BAD_STL: dict[str, tuple[Callable[[], bytes], str]] = {
    "empty.stl": (lambda: b"", r"is empty"),
    "one_byte.stl": (lambda: b"s", r"1 bytes long, which is too short"),
    "header_only.stl": (lambda: bytes(80), r"too short"),
    "no_triangles.stl": (lambda: bytes(84), r"not one triangle"),
    "cut_in_a_triangle.stl": (lambda: stl(box())[:-20], _CUT),
    "cut_between_triangles.stl": (lambda: stl(box())[:-50], r"12 triangles, and there is room in it for 11"),
    "four_billion_triangles.stl": (lambda: stl(box(), count=2**32 - 1), r"4,294,967,295 triangles.*room in it for 12"),
    "says_fewer_than_it_holds.stl": (lambda: stl(box(), count=7), r"7 triangles, and 12 are there"),
    "bytes_after_the_end.stl": (lambda: stl(box()) + b"and more", r"8 bytes that no STL needs"),
    "zeros.stl": (lambda: bytes(1_000_000), r"0 triangles, and 19,998 are there"),
    "noise.stl": (lambda: _noise(300_000), _CUT),
    "corner_not_a_number.stl": (lambda: _with(NAN), r"lie nowhere"),
    "corner_at_infinity.stl": (lambda: _with(INF), r"lie nowhere"),
    "all_not_a_number.stl": (lambda: _times(NAN), r"corners in this file 8 lie nowhere|36 lie nowhere"),
    "one_triangle.stl": (lambda: stl_of([[(0, 0, 0), (50, 0, 0), (0, 50, 10)]]), r"in one plane"),
    "one_point.stl": (lambda: stl_of([[(5, 5, 5)] * 3] * 20), r"smaller than anything"),
    "on_a_line.stl": (
        lambda: stl_of([[(n, n, n), (n + 1, n + 1, n + 1), (60, 60, 60)] for n in range(40)]),
        r"one plane",
    ),
    "lies_flat.stl": (lambda: stl(Mesh(box().vertices * (1, 1, 0), box().faces)), r"in one plane"),
    "slanting_plane.stl": (_slanting_plane, r"in one plane"),
    "needles.stl": (_needles, r"any thickness or area"),
    "each_triangle_a_hundred_times.stl": (lambda: _again(100), r"1,188 triangles lie exactly on another"),
    "corner_astronomically_far.stl": (lambda: _with(1e30), r"more than a thousand kilometres long, which no part is"),
    "largest_float.stl": (lambda: _with(3.4e38), r"which no part is"),
    "eight_metres_off.stl": (lambda: stl(box(at=(8000, 0, 0))), r"lies 8\.04 m from its origin"),
    "next_to_nothing.stl": (lambda: _times(1e-42), r"less than a thousandth of a millimetre across"),
    "hand_in_inches.stl": (lambda: _times(1.8 / 25.4), r"only 7\.09 mm.*In inches it would be 180 mm"),
    "hand_in_metres.stl": (lambda: _times(1.8e-3), r"only 0\.18 mm.*In metres it would be 180 mm"),
    "wide_as_a_door.stl": (lambda: _times(25.4), r"2\.54 m.*25\.4 times smaller it would be 100 mm"),
    "title_names_inches.stl": (
        lambda: stl(box(), header=b"made by a lathe, UNITS=inch"),
        r"says inches.*One of the two",
    ),
    "text_without_end.stl": (lambda: text_stl(box(), end=""), r"ends in the middle"),
    "text_cut_in_a_word.stl": (lambda: text_stl(box())[:-150], r"ends in the middle"),
    "text_with_commas.stl": (lambda: _text("vertex 40 30 100", "vertex 40,5 30,5 100,5"), r"a point, not a comma"),
    "text_not_a_number.stl": (lambda: _text("vertex 40 30 100", "vertex nan 30 100"), r"lie nowhere"),
    "text_infinite.stl": (lambda: _text("vertex 40 30 100", "vertex 1e999 30 100"), r"lie nowhere"),
    "text_of_words.stl": (lambda: _text("vertex 40 30 100", "vertex here there everywhere"), r"not a number"),
    "text_underscored.stl": (lambda: _text("vertex 40 30 100", "vertex 4_0 30 100"), r"Line \d+ of this STL is not"),
    "text_of_two_corners.stl": (lambda: _text("      vertex 0 0 0\n", "", 1), r"Line 3 of this STL|Line 2 of this STL"),
    "text_of_four_corners.stl": (
        lambda: _text("    endloop", "      vertex 1 2 3\n    endloop", 1),
        r"Line 2 of this STL is not",
    ),
    "text_of_no_facets.stl": (
        lambda: b"solid part with no facet\n" * 1 + b"endsolid\n" + b" " * 99,
        r"not one triangle",
    ),
    "text_goes_on_as_prose.stl": (lambda: text_stl(box()) + b"and now for something else\n" * 40, r"Line 87"),
    "poem.stl": (lambda: b"solid is the ground,\nand every facet of it round\n" * 200, r"Line 2 of this STL is not"),
    "letter.stl": (lambda: b"Dear volunteer, here is the part you asked for.\n" * 200, r"text, but not"),
    "page.stl": (lambda: b"<!doctype html><title>Sign in</title>" + b"<p>Please sign in.</p>" * 99, r"text, but not"),
    "object_file.stl": (lambda: b"o part\n" + b"v 1.0 2.0 3.0\nf 1 2 3\n" * 99, r"text, but not"),
    "one_endless_word.stl": (lambda: b"solid x\nfacet normal " + b"9" * 4_000_000, r"Line 2 of this STL is not"),
    "endless_blanks.stl": (
        lambda: b"solid x facet\n" + b" \n" * 2_000_000 + b"x",
        r"not what an STL says there|in the middle",
    ),
    "endless_facets_of_nothing.stl": (lambda: b"solid x\n" + b"facet facet normal\n" * 200_000, r"Line 2 of this STL"),
    "picture.stl": (lambda: b"\x89PNG\r\n\x1a\n" + struct.pack(">I4s", 13, b"IHDR") + _noise(500), r"it is a picture"),
    "program.stl": (lambda: b"\x7fELF" + _noise(500), r"it is a program"),
    "part.obj": (lambda: b"v 1 2 3\n" * 50, r"read from STL and 3MF"),
    "drawing.step": (lambda: b"ISO-10303-21;\n" * 9, r"this is a STEP file"),
    "no_ending": (lambda: stl(box()), r"ends in \.stl or \.3mf"),
    "../../etc/passwd": (lambda: b"root:x:0:0", r"ends in \.stl or \.3mf"),
}
