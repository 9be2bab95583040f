"""Makers of STL and 3MF files, good ones and the pieces that bad ones are made from."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from service.geometry.mesh import Mesh
from service.geometry.model_part import CORE
from service.geometry.three_mf import RELATIONSHIPS, START

Corner = Sequence[float]

BOX_CORNERS = [(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)]
BOX_FACES = [
    *((0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1)),
    *((2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)),
]
TRIANGLE = struct.Struct("<12fH")


def box(x: float = 40.0, y: float = 30.0, z: float = 100.0, at: Corner = (0.0, 0.0, 0.0)) -> Mesh:
    """A closed box of twelve triangles, facing outward."""
    corners = np.array(BOX_CORNERS, dtype=np.float64) * (x, y, z) + np.asarray(at, dtype=np.float64)
    return Mesh(corners, np.array(BOX_FACES, dtype=np.int64))


def stl(mesh: Mesh, *, header: bytes = b"", count: int | None = None) -> bytes:
    """A binary STL, which may lie about its count."""
    corners = mesh.vertices[mesh.faces].astype("<f4")
    body = b"".join(TRIANGLE.pack(0, 0, 0, *each.ravel(), 0) for each in corners)
    return header.ljust(80, b"\0") + struct.pack("<I", len(corners) if count is None else count) + body


def stl_of(corners: Iterable[Sequence[Corner]]) -> bytes:
    """A binary STL of triangles given by their corners."""
    triangles = [TRIANGLE.pack(0, 0, 0, *np.ravel(each), 0) for each in corners]
    return bytes(80) + struct.pack("<I", len(triangles)) + b"".join(triangles)


def text_stl(mesh: Mesh, title: str = "part", end: str = "endsolid part\n") -> bytes:
    """An STL as text."""
    lines = [f"solid {title}"]
    for each in mesh.vertices[mesh.faces]:
        lines += ["  facet normal 0 0 0", "    outer loop"]
        lines += [f"      vertex {x:g} {y:g} {z:g}" for x, y, z in each]
        lines += ["    endloop", "  endfacet"]
    return ("\n".join(lines) + "\n" + end).encode()


def vertices_xml(mesh: Mesh) -> str:
    return "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in mesh.vertices.tolist())


def triangles_xml(mesh: Mesh) -> str:
    return "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist())


def object_xml(mesh: Mesh | None = None, number: int | str = 1, *, inner: str | None = None, more: str = "") -> str:
    """An object: of a mesh, or of whatever XML is given instead of one."""
    made = box() if mesh is None else mesh
    whole = f"<mesh><vertices>{vertices_xml(made)}</vertices><triangles>{triangles_xml(made)}</triangles></mesh>"
    return f'<object id="{number}"{more}>{whole if inner is None else inner}</object>'


def model_xml(objects: str = "", items: str = '<item objectid="1"/>', attributes: str = ' unit="millimeter"') -> str:
    """A model; what is not said is right."""
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model xmlns="{CORE}"{attributes}>'
        f"<resources>{objects or object_xml()}</resources><build>{items}</build></model>"
    )


def relationships_xml(*targets: str) -> str:
    lines = (f'<Relationship Target="{each}" Id="r{n}" Type="{START}"/>' for n, each in enumerate(targets))
    return f'<Relationships xmlns="{RELATIONSHIPS}">{"".join(lines)}</Relationships>'


def three_mf(model: str | bytes = "", more: Mapping[str, str | bytes] | None = None, **packing: Any) -> bytes:
    """A package with a model and whatever else is given, by name."""
    entries: dict[str, str | bytes] = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
        "_rels/.rels": relationships_xml("/3D/3dmodel.model"),
        "3D/3dmodel.model": model or model_xml(),
        **(more or {}),
    }
    return zipped(entries.items(), **packing)


def zipped(
    entries: Iterable[tuple[str | zipfile.ZipInfo, str | bytes]],
    packing: int = zipfile.ZIP_DEFLATED,
    level: int | None = None,
) -> bytes:
    """A zip of entries, in order; the same name may come twice."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", packing, compresslevel=level) as package:
        for name, content in entries:
            package.writestr(name, content)
    return packed.getvalue()
