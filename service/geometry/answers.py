"""What a file is said to be, and what is said of the one who sends it. Lengths are mm, scales factors of the file."""

from __future__ import annotations

import enum
from typing import Annotated

from pydantic import Field, model_validator

from service.anthropometry import Dimension
from service.kit.schema import Command, View

Coordinate = Annotated[float, Field(ge=-5_000, le=5_000)]
Scale = Annotated[float, Field(ge=0.2, le=5)]
Point = tuple[Coordinate, Coordinate, Coordinate]
Triple = tuple[float, float, float]


class LengthUnit(enum.StrEnum):
    """What one unit of length in a file is: those a 3MF may name."""

    MILLIMETRE = "mm"
    CENTIMETRE = "cm"
    METRE = "m"
    INCH = "in"
    FOOT = "ft"
    MICROMETRE = "um"

    @property
    def in_mm(self) -> float:
        """Millimetres in one."""
        return {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8, "um": 0.001}[self.value]

    @property
    def label(self) -> str:
        """The words on a screen."""
        words = {"mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches"}
        return {**words, "ft": "feet", "um": "micrometres"}[self.value]


class Format(enum.StrEnum):
    """A kind of file that is read."""

    STL = "stl"
    THREE_MF = "3mf"


class Axis(Command):
    """The line a part is scaled along: a point on it (mm, in the file's place) and a direction of any length."""

    origin_mm: Point = (0.0, 0.0, 0.0)
    direction: Point = (0.0, 0.0, 1.0)

    @model_validator(mode="after")
    def _points_somewhere(self) -> Axis:
        if sum(each**2 for each in self.direction) < 1e-12:
            raise ValueError("A direction needs a length: give one such as 0, 0, 1")
        return self


class Inside(Command):
    """How the inside of a socket lies beside the limb.

    The axis points away from the landmark of `dimension`; its origin lies `level_at_origin_mm` from that landmark.
    """

    dimension: Dimension = Dimension.RESIDUAL_LIMB_GIRTH
    level_at_origin_mm: Annotated[float, Field(ge=-200, le=600)] = 0.0
    liner_mm: Annotated[float, Field(ge=0, le=20)] = 0.0


class LevelGirth(View):
    """The inner girth at a level from the landmark."""

    level_mm: float
    girth_mm: float


class SmallPart(View):
    """Whether any loose body fits entirely in the small-parts cylinder (16 CFR 1501.4), in some orientation.

    `fits` errs towards yes while it is too near to say, and then `sure` is false. The largest uniform scale at which it
    surely fits and the smallest at which it surely does not hold for the part as it is.
    """

    fits: bool
    sure: bool
    why: str
    fits_up_to_scale: float
    not_from_scale: float


class Geometry(View):
    """A mesh in figures. `volume_mm3` is null while the surface is not closed; `doubts` are sentences for a person."""

    watertight: bool
    bodies: int
    triangles: int
    bounding_box_mm: Triple
    volume_mm3: float | None
    area_mm2: float
    thinnest_wall_mm: float | None
    inside_profile: list[LevelGirth]
    small_part: SmallPart
    doubts: list[str]
