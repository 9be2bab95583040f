"""A surface of triangles, in mm."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from service.geometry.answers import Axis, LengthUnit

Points = npt.NDArray[np.float64]
Triangles = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Vertices (n, 3), finite, in mm, and faces (m, 3) that index them; nothing is merged, closed or put right."""

    vertices: Points
    faces: Triangles

    def scaled(self, axis: Axis, across: float, along: float) -> Mesh:
        """The mesh at two scales about the axis' origin, which stays where it is: along the axis and square to it."""
        origin = np.asarray(axis.origin_mm, dtype=np.float64)
        direction = np.asarray(axis.direction, dtype=np.float64)
        direction = direction / np.linalg.norm(direction)
        from_origin = self.vertices - origin
        lengthwise = np.outer(from_origin @ direction, direction)
        return Mesh(origin + across * (from_origin - lengthwise) + along * lengthwise, self.faces)


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What a file holds, in its own unit: `unit` is the one it names, if any; `doubts` are sentences for a person."""

    vertices: Points
    faces: Triangles
    unit: LengthUnit | None = None
    doubts: list[str] = field(default_factory=list)
