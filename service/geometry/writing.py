"""A mesh as a 3MF in millimetres, the same bytes for the same mesh and words.

Core standard: names of metadata that it does not know itself carry a namespace, and corners that are one are written
once, since a 3MF's triangles are joined by the numbers of their corners.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from html import escape

import numpy as np

from service.geometry.mesh import Mesh, Triangles
from service.geometry.model_part import CORE
from service.geometry.three_mf import RELATIONSHIPS, START, USUAL

OURS = "tag:handspan.example,2026:part"
"""The namespace of metadata that the core standard has no name for."""

PREFIX = "handspan"
STANDARD_NAMES = (
    "Title",
    "Designer",
    "Description",
    "Copyright",
    "LicenseTerms",
    "Rating",
    "CreationDate",
    "ModificationDate",
    "Application",
)
DECIMALS = 4  # of a millimetre: a tenth of a thousandth
_SMALL_ENOUGH = 4  # of 9: two thirds of the time of the usual 6, a twentieth larger
_BATCH = 20_000
_CONTENT_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>"
)
_RELATIONSHIPS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    f'<Relationships xmlns="{RELATIONSHIPS}">'
    f'<Relationship Target="/{USUAL}" Id="start" Type="{START}"/>'
    "</Relationships>"
)
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def write_three_mf(mesh: Mesh, metadata: Mapping[str, str], *, join: bool = False) -> bytes:
    """The mesh with metadata by name; `join` makes one corner of those in the same place, as an STL's are.

    A name becomes one of the standard's where it is one, whatever its capitals and spaces, else one of `OURS`.
    """
    mesh = _joined(mesh) if join else mesh
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=_SMALL_ENOUGH) as package:
        _put(package, "[Content_Types].xml", [_CONTENT_TYPES])
        _put(package, "_rels/.rels", [_RELATIONSHIPS])
        _put(package, USUAL, _model(mesh, metadata))
    return packed.getvalue()


def metadata_name(name: str) -> str:
    """What a name is in a 3MF: "licence terms" is no name of the standard's, "license terms" is."""
    squeezed = re.sub(r"[^A-Za-z0-9]+", "", name).lower()
    for standard in STANDARD_NAMES:
        if squeezed == standard.lower():
            return standard
    local = re.sub(r"[^A-Za-z0-9_.-]+", "_", name).strip("_.-") or "note"
    return f"{PREFIX}:{local if local[0].isalpha() else f'_{local}'}"


def _put(package: zipfile.ZipFile, name: str, texts: Iterable[str]) -> None:
    # Opened by name, an entry says nothing of when it was written: the date is the zip's first, in 1980.
    with package.open(name, "w") as entry:
        for text in texts:
            entry.write(text.encode())


def _model(mesh: Mesh, metadata: Mapping[str, str]) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    yield f'<model unit="millimeter" xml:lang="en" xmlns="{CORE}" xmlns:{PREFIX}="{OURS}">\n'
    names: set[str] = set()
    for name, value in metadata.items():
        written = metadata_name(name)
        if written in names:
            raise ValueError(f"two metadata are called {written} in a 3MF")
        names.add(written)
        yield f'<metadata name="{written}" preserve="1">{_text(value)}</metadata>\n'
    yield '<resources>\n<object id="1" type="model"><mesh>\n<vertices>\n'
    corner = f'<vertex x="%.{DECIMALS}f" y="%.{DECIMALS}f" z="%.{DECIMALS}f"/>\n'
    # Adding zero makes minus zero plain zero.
    yield from _lines(corner, np.round(mesh.vertices, DECIMALS) + 0.0)
    yield "</vertices>\n<triangles>\n"
    yield from _lines('<triangle v1="%d" v2="%d" v3="%d"/>\n', _proper(mesh.faces))
    yield '</triangles>\n</mesh></object>\n</resources>\n<build><item objectid="1"/></build>\n</model>\n'


def _lines(line: str, rows: np.ndarray) -> Iterator[str]:
    for start in range(0, len(rows), _BATCH):
        batch = rows[start : start + _BATCH]
        yield (line * len(batch)) % tuple(batch.ravel().tolist())


def _text(value: str) -> str:
    return escape(_NOT_IN_XML.sub(" ", value), quote=False)


def _proper(faces: Triangles) -> Triangles:
    """Without triangles that use a corner twice: they have no area, and a 3MF must not hold them."""
    a, b, c = faces.T
    proper: Triangles = faces[(a != b) & (b != c) & (c != a)]
    return proper


def _joined(mesh: Mesh) -> Mesh:
    """Corners that would be written alike made one, in the order in which they are first used."""
    rounded = np.rint(mesh.vertices * 10**DECIMALS).astype(np.int64)
    alike = np.zeros(len(rounded), dtype=np.int64)
    for column in rounded.T:
        # One column after the other: sorting whole rows takes several times as long.
        values, place = np.unique(column, return_inverse=True)
        _, alike = np.unique(alike * len(values) + place, return_inverse=True)
    first = np.full(int(alike.max(initial=-1)) + 1, len(alike), dtype=np.int64)
    np.minimum.at(first, alike, np.arange(len(alike)))
    order = np.argsort(first, kind="stable")
    number = np.empty_like(order)
    number[order] = np.arange(len(order))
    return Mesh(mesh.vertices[first[order]], number[alike][mesh.faces])
