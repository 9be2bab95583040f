"""One model of a 3MF, read as it streams by: its unit, objects and what is to be printed. No entity, no DTD, no depth.

Only the core standard's elements are looked at, and the production extension's paths to other models.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, TypeVar
from xml.parsers import expat

import numpy as np

from service.geometry import limits
from service.geometry.mesh import Points, Triangles
from service.geometry.stl import too_many
from service.kit.unfit import Unfit

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
_AT_ONCE = 30_000  # numbers, turned from words together
_NUMBERS = re.compile(r"[-+0-9.eE\s]*")
_WHOLE = re.compile(r"[-+0-9\s]*")
_BROKEN = "This 3MF's model is not well-formed XML: it was cut short or altered. Save it again from where it was drawn."

_LONGEST_NUMBER = 60  # digits

N = TypeVar("N", int, float)
Transform = tuple[float, ...]
"""Twelve numbers: three rows, then where the origin goes."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An object put somewhere; `path` names another model of the package, None this one."""

    object_id: str
    path: str | None
    transform: Transform | None


@dataclass(slots=True)
class Solid:
    """An object: a mesh, or others put together."""

    kind: str
    vertices: Points = field(default_factory=lambda: np.empty((0, 3)))
    faces: Triangles = field(default_factory=lambda: np.empty((0, 3), dtype=np.int64))
    components: list[Placed] = field(default_factory=list)


@dataclass(slots=True)
class ModelPart:
    """A model. `unit` is as written, None when it is not; `required` are the namespaces one must know to read it."""

    unit: str | None = None
    solids: dict[str, Solid] = field(default_factory=dict)
    items: list[Placed] = field(default_factory=list)
    required: set[str] = field(default_factory=set)
    has_beams: bool = False


def read_model(chunks: Iterable[bytes]) -> ModelPart:
    """A model from its XML; raises Unfit."""
    reader = _Reader()
    feed(reader.start, chunks, ended=reader.end, namespace=reader.namespace)
    return reader.done()


def feed(start: Any, chunks: Iterable[bytes], *, ended: Any = None, namespace: Any = None) -> None:
    """Have each element's (name, attributes) handed to `start`; names are `namespace name`. Raises Unfit."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = start
    parser.EndElementHandler = ended
    parser.StartNamespaceDeclHandler = namespace
    parser.StartDoctypeDeclHandler = _no_dtd
    parser.buffer_text = False
    fed = 0
    try:
        for chunk in chunks:
            parser.Parse(chunk, False)
            fed += len(chunk)
            if fed - parser.CurrentByteIndex > limits.LONGEST_WORD:
                raise Unfit(
                    "A single name, value or comment in this 3MF is longer than a megabyte. It is damaged or meant to "
                    "do damage, and was not read further."
                )
        parser.Parse(b"", True)
    except (expat.ExpatError, UnicodeError, LookupError) as error:
        raise Unfit(_BROKEN) from error


def _no_dtd(*_: object) -> None:
    raise Unfit(
        "This 3MF's XML brings a document type or entities with it, which a 3MF must not: that is how a small file is "
        "made to fill a computer. It was not read. Save the part again from the program it was drawn in."
    )


def _names(element: str) -> frozenset[str]:
    """How an element of the core standard may be called; many a file forgets the namespace."""
    return frozenset({f"{CORE} {element}", element})


_VERTEX, _TRIANGLE, _OBJECT = _names("vertex"), _names("triangle"), _names("object")
_COMPONENT, _ITEM, _MODEL = _names("component"), _names("item"), _names("model")


class _Reader:
    """Takes elements as they come. What is not the core standard's is passed over, with all that is in it."""

    def __init__(self) -> None:
        self._part = ModelPart()
        self._prefixes: dict[str | None, str] = {}
        self._depth = 0
        self._others = 0
        self._objects = 0
        self._solid: Solid | None = None
        self._id = ""
        self._corners, self._corner_words = array("d"), list[str]()
        self._faces, self._face_words = array("q"), list[str]()
        self._triangles = 0

    def done(self) -> ModelPart:
        """The model, once its last element was seen."""
        return self._part

    def namespace(self, prefix: str | None, uri: str) -> None:
        """A prefix was declared; `requiredextensions` speaks in prefixes."""
        if self._depth == 0:
            self._prefixes[prefix] = uri

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element begins. Nearly all are corners and triangles, so these are looked for first."""
        self._depth += 1
        if self._depth > limits.MOST_DEEP:
            raise Unfit("The elements of this 3MF are nested deeper than in any part. It was not read further.")
        try:
            if name in _TRIANGLE:
                self._face_words += (attributes["v1"], attributes["v2"], attributes["v3"])
                if len(self._face_words) >= _AT_ONCE:
                    self._take_faces()
            elif name in _VERTEX:
                self._corner_words += (attributes["x"], attributes["y"], attributes["z"])
                if len(self._corner_words) >= _AT_ONCE:
                    self._take_corners()
            else:
                self._other(name, attributes)
        except KeyError as error:
            raise Unfit(
                f"Something in this 3MF lacks its {error.args[0]}. Save it again from the program it was drawn in."
            ) from None

    def _other(self, name: str, attributes: dict[str, str]) -> None:
        self._others += 1
        if self._others > limits.MOST_OTHER_ELEMENTS:
            raise Unfit("There is more beside the mesh in this 3MF than any part needs. Export the part alone.")
        if self._depth == 1:
            self._root(name, attributes)
        elif name in _OBJECT:
            self._count_object()
            self._solid, self._id = Solid(attributes.get("type", "model").strip()), attributes["id"].strip()
            self._corners, self._faces = array("d"), array("q")
        elif name in _COMPONENT and self._solid is not None:
            self._count_object()
            self._solid.components.append(_placed(attributes))
        elif name in _ITEM:
            self._count_object()
            self._part.items.append(_placed(attributes))
        elif name.endswith(" beamlattice"):
            self._part.has_beams = True

    def _count_object(self) -> None:
        self._objects += 1
        if self._objects > limits.MOST_OBJECTS:
            raise Unfit(
                f"There are more than {limits.MOST_OBJECTS:,} objects in this 3MF. Put the part together into one, and "
                "export it alone."
            )

    def _root(self, name: str, attributes: dict[str, str]) -> None:
        if name not in _MODEL:
            raise Unfit("This 3MF's model does not follow the 3MF core standard of 2015. Save it again as 3MF or STL.")
        self._part.unit = attributes.get("unit")
        prefixes = attributes.get("requiredextensions", "").split()
        self._part.required = {self._prefixes.get(prefix, prefix) for prefix in prefixes}

    def end(self, name: str) -> None:
        """An element ends."""
        self._depth -= 1
        if name in _OBJECT and self._solid is not None:
            self._finish(self._solid)
            self._solid = None

    def _finish(self, solid: Solid) -> None:
        self._take_corners()
        self._take_faces()
        solid.vertices = np.array(self._corners, dtype=np.float64).reshape(-1, 3)
        solid.faces = np.array(self._faces, dtype=np.int64).reshape(-1, 3)
        if solid.faces.size and not 0 <= solid.faces.min() <= solid.faces.max() < len(solid.vertices):
            raise Unfit(
                f"A triangle of this 3MF uses corner {_astray(solid):,}, and there are {len(solid.vertices):,} (the "
                "first is 0). It is damaged: save it again from the program it was drawn in."
            )
        if self._id in self._part.solids:
            raise Unfit("Two objects of this 3MF have the same number. Save it again from where it was drawn.")
        self._part.solids[self._id] = solid

    def _take_corners(self) -> None:
        self._corners.extend(_numbers(self._corner_words, _NUMBERS, float))
        self._corner_words.clear()
        if len(self._corners) > 3 * limits.MOST_CORNERS:
            raise too_many(limits.MOST_TRIANGLES)

    def _take_faces(self) -> None:
        self._faces.extend(_numbers(self._face_words, _WHOLE, _index))
        self._triangles += len(self._face_words) // 3
        self._face_words.clear()
        if self._triangles > limits.MOST_TRIANGLES:
            raise too_many(self._triangles)


def _numbers(words: list[str], legal: re.Pattern[str], number: Callable[[str], N]) -> list[N]:
    """The words as numbers, if XML writes numbers so: Python would take `nan`, `1_0` and other scripts' digits too."""
    if max(map(len, words), default=0) <= _LONGEST_NUMBER and legal.fullmatch(" ".join(words)):
        try:
            return list(map(number, words))
        except ValueError:
            pass
    raise Unfit(
        "A corner or a triangle of this 3MF is given by something that is not a number. Save it again from the program "
        "it was drawn in."
    )


def _index(word: str) -> int:
    """A corner's number; whatever is far too large stays too large."""
    return max(min(int(word), 2**40), -(2**40))


def _astray(solid: Solid) -> int:
    """The number of a corner that is not there."""
    faces = solid.faces.ravel()
    return int(faces[(faces < 0) | (faces >= len(solid.vertices))][0])


def _placed(attributes: dict[str, str]) -> Placed:
    words = attributes.get("transform", "").split()
    transform: Transform | None = None
    if words:
        transform = tuple(_numbers(words, _NUMBERS, float))
        if len(transform) != 12:
            raise Unfit(f"A transform in this 3MF has {len(transform)} numbers instead of 12. Save it again.")
    path = attributes.get(f"{PRODUCTION} path")
    return Placed(attributes["objectid"].strip(), path.strip().lstrip("/") if path else None, transform)
