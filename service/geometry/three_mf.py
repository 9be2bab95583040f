"""A 3MF: the model its package names, with what is to be printed put together where it goes.

Read by the core standard. Of its extensions, those that only colour a part are passed over, models in several files are
followed, and what would change the shape is refused by name when the file says that it cannot do without.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from urllib.parse import unquote

import numpy as np
import numpy.typing as npt

from service.geometry import limits
from service.geometry.answers import LengthUnit
from service.geometry.mesh import Drawn, Points, Triangles
from service.geometry.model_part import PRODUCTION, ModelPart, Placed, Solid, feed, read_model
from service.geometry.package import Package
from service.geometry.stl import too_many
from service.kit.unfit import Unfit

START = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
USUAL = "3D/3dmodel.model"
RELATIONSHIPS = "http://schemas.openxmlformats.org/package/2006/relationships"

UNITS = {
    "micron": LengthUnit.MICROMETRE,
    "millimeter": LengthUnit.MILLIMETRE,
    "centimeter": LengthUnit.CENTIMETRE,
    "inch": LengthUnit.INCH,
    "foot": LengthUnit.FOOT,
    "meter": LengthUnit.METRE,
}
DEFAULT_UNIT = "millimeter"

# Extensions that leave the shape as it is, by namespace.
_HARMLESS = {
    PRODUCTION,
    "http://schemas.microsoft.com/3dmanufacturing/material/2015/02",
    "http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07",
}
_MATTERS = {
    "beamlattice": "a lattice of beams",
    "slice": "ready-made slices",
    "securecontent": "locked content",
    "volumetric": "a volume without a surface",
    "implicit": "a shape given by formulas",
    "boolean": "shapes cut out of each other",
    "displacement": "a surface moved by a picture",
}
_LEFT_OUT = {"support", "solidsupport", "other"}

Matrix = npt.NDArray[np.float64]
_STAYS = np.vstack([np.eye(3), np.zeros(3)])


def read_three_mf(content: bytes) -> Drawn:
    """What a 3MF has to be printed, all of it in one mesh; raises Unfit."""
    package = Package(content)
    start = _start_of(package)
    models = _Models(package, start)
    build = _Build(models)
    for item in models.root.items:
        build.put(start, item, _STAYS, 1)
    doubts = list(build.doubts())
    if not build.vertices:
        raise Unfit(
            "There is nothing to print in this 3MF: no object with a mesh is on its plate. Put the part on the plate, "
            "and export it again."
        )
    return Drawn(np.vstack(build.vertices), np.vstack(build.faces), models.unit, doubts)


def _start_of(package: Package) -> str:
    """The name of the model to begin with: the package's relationships say it."""
    targets: list[str] = []

    def relationship(name: str, attributes: dict[str, str]) -> None:
        if name == f"{RELATIONSHIPS} Relationship" and attributes.get("Type") == START:
            targets.append(unquote(attributes.get("Target", "")).lstrip("/"))

    if "_rels/.rels" in package:
        feed(relationship, package.chunks("_rels/.rels", limits.MOST_LIST))
    if len(set(targets)) > 1:
        raise Unfit(
            "This 3MF names two models to begin with, so programs would not agree which one to print. Save it again."
        )
    # Where a package names none, the usual name leaves no doubt.
    start = targets[0] if targets else USUAL
    if start not in package:
        inner = any(name.lower().endswith((".3mf", ".stl")) for name in package.names())
        advice = "The part seems to be inside: unpack the zip and send the part itself." if inner else "Save it again."
        raise Unfit(f"There is no 3D model in this file, so it is a zip of something else or damaged. {advice}")
    return start


@dataclass(slots=True)
class _Models:
    """The models of a package, each read once, when it is first needed."""

    package: Package
    start: str
    root: ModelPart = field(init=False)
    unit: LengthUnit | None = field(init=False)
    _read: dict[str, ModelPart] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.root = self.model(self.start)
        self.unit = _unit(self.root)

    def model(self, path: str) -> ModelPart:
        name = path.lower()
        if name not in self._read:
            if path not in self.package:
                raise Unfit("This 3MF points to a model that is not in it. Save it again from where it was drawn.")
            if len(self._read) >= limits.MOST_PARTS:
                raise Unfit(f"This 3MF spreads over more than {limits.MOST_PARTS} models. Export the part alone.")
            model = read_model(self.package.chunks(path, limits.MOST_XML))
            _refuse_what_matters(model)
            if self._read and _unit(model) is not _unit(self.root):
                raise Unfit(
                    "The models of this 3MF are drawn in different units, so their sizes cannot be trusted. Save the "
                    "part again in millimetres."
                )
            self._read[name] = model
        return self._read[name]

    def read_so_far(self) -> list[ModelPart]:
        return list(self._read.values())

    def solid(self, path: str, object_id: str) -> Solid:
        solid = self.model(path).solids.get(object_id)
        if solid is None:
            raise Unfit("This 3MF puts together an object that is not in it. Save it again from where it was drawn.")
        return solid


def _unit(model: ModelPart) -> LengthUnit | None:
    """The unit a model names; None when it names none."""
    if model.unit is None:
        return None
    unit = UNITS.get(model.unit.strip().lower())
    if unit is None:
        raise Unfit(
            f"This 3MF names a unit that the standard does not know; it knows {', '.join(UNITS)}. Save it again in "
            "millimetres."
        )
    return unit


def _refuse_what_matters(model: ModelPart) -> None:
    for namespace in sorted(model.required - _HARMLESS):
        what = next((words for part, words in _MATTERS.items() if part in namespace), "an extension not known here")
        raise Unfit(
            f"This 3MF says that it cannot be understood without {what}, which is not read here. Export the part as a "
            "plain mesh: 3MF without extensions, or STL."
        )


@dataclass(slots=True)
class _Build:
    """What is on the plate, put together."""

    models: _Models
    vertices: list[Points] = field(default_factory=list)
    faces: list[Triangles] = field(default_factory=list)
    _corners: int = 0
    _triangles: int = 0
    _placed: int = 0
    _left_out: int = 0

    def put(self, path: str, placed: Placed, outer: Matrix, depth: int) -> None:
        """Put an object, and those it is made from, where they go."""
        # Counted as they are walked, with or without a mesh: a few lines could ask for more than any computer holds.
        self._placed += 1
        if self._placed > limits.MOST_PIECES:
            raise Unfit(
                f"More than {limits.MOST_PIECES:,} pieces are put together in this 3MF. Join the part into one mesh, "
                "and export it alone."
            )
        if depth > limits.MOST_DEEP:
            raise Unfit("An object of this 3MF is made from itself, or from others far too deep. Save it again.")
        where = placed.path or path
        solid = self.models.solid(where, placed.object_id)
        matrix = _times(_matrix(placed), outer)
        for component in solid.components:
            self.put(where, component, matrix, depth + 1)
        if len(solid.faces) and solid.kind in _LEFT_OUT:
            self._left_out += 1
        elif len(solid.faces):
            self._add(solid, matrix)

    def _add(self, solid: Solid, matrix: Matrix) -> None:
        self._triangles += len(solid.faces)
        before, self._corners = self._corners, self._corners + len(solid.vertices)
        if self._triangles > limits.MOST_TRIANGLES or self._corners > limits.MOST_CORNERS:
            raise too_many(max(self._triangles, limits.MOST_TRIANGLES))
        with np.errstate(all="ignore"):  # what leads beyond all numbers is refused here, or by its corners later
            turn = np.linalg.det(matrix[:3])
            flat = not np.isfinite(turn) or abs(turn) <= 1e-9 * np.linalg.norm(matrix[:3]) ** 3
            self.vertices.append(solid.vertices @ matrix[:3] + matrix[3])
        if flat:
            raise Unfit("A transform in this 3MF flattens an object to nothing. Save it again from where it was drawn.")
        # A mirrored object keeps its inside inside (core standard, 3.3).
        faces = solid.faces if turn > 0 else solid.faces[:, ::-1]
        self.faces.append(faces + before)

    def doubts(self) -> list[str]:
        """What is odd about it."""
        odd: list[str] = []
        if self._left_out:
            how_many = "One object is" if self._left_out == 1 else f"{self._left_out} objects are"
            odd.append(f"{how_many} marked in the 3MF as a support or as no part of it, and left out here.")
        if any(model.has_beams for model in self.models.read_so_far()):
            odd.append("The 3MF has beams beside its mesh; they were left out here.")
        return odd


def _matrix(placed: Placed) -> Matrix:
    if placed.transform is None:
        return _STAYS
    return np.array(placed.transform).reshape(4, 3)


def _times(inner: Matrix, outer: Matrix) -> Matrix:
    """What placing by `inner` and then by `outer` does."""
    with np.errstate(all="ignore"):
        both = inner @ outer[:3]
        both[3] += outer[3]
    return both
