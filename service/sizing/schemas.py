"""The stateless question: a forecast's case, what the next socket would be printed from, and what a site has.

Lengths are mm, shares 0 to 1, scales factors of the base file.
"""

from __future__ import annotations

import re
from typing import Annotated, Self

from pydantic import AfterValidator, ConfigDict, Field, model_validator

from service.anthropometry import CATALOGUE, Dimension, short_landmark
from service.geometry.printing import Kind
from service.growth.model.case import Side
from service.growth.schemas import ForecastCase, Ply, check_size
from service.kit.schema import Command
from service.recipients.schemas import NO_CHOICE
from service.sizing.model.socks import MOST_SOCK_MM, MOST_WORN
from service.sizing.rules import GIRTHS, LONGEST_LEAD_DAYS, LONGEST_MONTHS, OTHER_INSIDE_SIZES, Axis

LONGEST_MM, THICKEST_MM = 2000.0, 20.0
Mm = Annotated[float, Field(gt=0, le=LONGEST_MM, strict=True)]
Thickness = Annotated[float, Field(ge=0, le=THICKEST_MM, strict=True)]
Scale = Annotated[float, Field(ge=0.2, le=5, strict=True)]
TryScale = Annotated[float, Field(ge=0.5, le=2, description="A size to try, as a factor of the last print.")]
WantedMonths = Annotated[int, Field(ge=1, le=LONGEST_MONTHS, description="Months the next socket is to be worn.")]
MostWorn = Annotated[int, Field(ge=0, le=4, description="The most socks worn over each other on day one.")]
WishPercent = Annotated[
    float, Field(ge=-20, le=20, description="How much larger than the sound hand the printed one is wished, per cent.")
]


DEEPEST_MM = 600.0
MOST_PROFILE_LEVELS = 300


class LevelGirth(Command):
    """The base's inside girth at a level of its axis, from the landmark of the limb's own girth."""

    level_mm: Annotated[float, Field(ge=0, le=DEEPEST_MM, strict=True)]
    girth_mm: Mm


class InsideSize(Command):
    """An inside size of the base that is no girth: a breadth, which scales across, or a length, which scales along."""

    dimension: Dimension
    size_mm: Mm

    @model_validator(mode="after")
    def _is_a_limbs(self) -> Self:
        if self.dimension not in OTHER_INSIDE_SIZES:
            raise ValueError(f"No socket has an inside {self.dimension}: give one of {', '.join(OTHER_INSIDE_SIZES)}")
        check_size(self.dimension, self.size_mm)
        return self


class FixedFeature(Command):
    """What must not scale: a bore, a hole, a channel, a pocket, a coupling.

    `holds_mm` is the size of the bought thing that goes in; without it, the nominal size. `axis` is the direction in
    which the size is measured.
    """

    kind: Kind
    nominal_mm: Mm
    holds_mm: Mm | None = None
    clearance_mm: Thickness = 0.0
    axis: Axis = "across"


class SolidIn(Command):
    """The base's closed volume and area, and the box around it as (across, across, along)."""

    volume_mm3: Annotated[float, Field(gt=0, le=1e9, strict=True)]
    area_mm2: Annotated[float, Field(gt=0, le=1e8, strict=True)]
    box_mm: tuple[Mm, Mm, Mm]

    @model_validator(mode="after")
    def _fits_its_box(self) -> Self:
        x, y, z = self.box_mm
        if self.volume_mm3 > x * y * z * 1.001:
            raise ValueError("A volume cannot be larger than the box around it: check the units, all are mm")
        return self


class BaseIn(Command):
    """What the next socket is printed from.

    `is_last_print` says that the profile was taken from the socket worn now, not from a file: scales are then known
    relative to that socket only. Without a side, that of the socket's first limit.
    """

    dimension: Dimension = Dimension.RESIDUAL_LIMB_GIRTH
    side: Side | None = None
    inside_profile: list[LevelGirth] = Field(default=[], max_length=MOST_PROFILE_LEVELS)
    inside_sizes: list[InsideSize] = Field(default=[], max_length=10)
    wall_mm: Mm | None = None
    fixed_features: list[FixedFeature] = Field(default=[], max_length=100)
    solid: SolidIn | None = None
    is_last_print: bool = False

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if self.dimension not in GIRTHS:
            raise ValueError(f"An inside profile is of a girth: {', '.join(GIRTHS)}")
        for each in self.inside_profile:
            check_size(self.dimension, each.girth_mm)
        if len({each.level_mm for each in self.inside_profile}) < len(self.inside_profile):
            raise ValueError("A level is given twice in the inside profile: keep one girth for each level")
        if len({each.dimension for each in self.inside_sizes}) < len(self.inside_sizes):
            raise ValueError("An inside size is given twice: keep one of each dimension")
        return self


class LastPrint(Command):
    """The scales of the socket worn now; `rescales` is how often its shape was rescaled, null if nobody knows."""

    scale_across: Scale = 1.0
    scale_along: Scale = 1.0
    rescales: Annotated[int, Field(ge=0, le=100, strict=True)] | None = None


class SocksIn(Command):
    """The socks a site has, by ply, and how much of them may be worn on day one: more is too loose a socket."""

    plies: list[Ply] = Field(default=[1, 3, 5], max_length=9)
    most_worn: MostWorn = MOST_WORN
    most_mm: Annotated[float, Field(ge=0, le=10, strict=True)] = MOST_SOCK_MM


class PrintingIn(Command):
    """How it will be printed. `wall_mm` is the printed wall, `printer_mm` the room of the printer, density in g/cm3.

    `hours_of_base` is what the base took at scale 1; without it, an ordinary printer's time is said.
    """

    nozzle_mm: Annotated[float, Field(gt=0, le=5, strict=True)] = 0.4
    wall_mm: Annotated[float, Field(gt=0, le=THICKEST_MM, strict=True)] = 1.2
    infill: Annotated[float, Field(ge=0, le=1, strict=True)] = 0.2
    density: Annotated[float, Field(gt=0, le=20, strict=True)] = 1.24
    price_per_kg: Annotated[float, Field(ge=0, le=1e6, strict=True)] | None = None
    hours_of_base: Annotated[float, Field(gt=0, le=1000, strict=True)] | None = None
    printer_mm: tuple[Mm, Mm, Mm] | None = None


class HandIn(Command):
    """The base hand's length and breadth, the scale along of the hand worn now, and what its owner wishes."""

    length_mm: Mm | None = None
    breadth_mm: Mm | None = None
    last_along: Scale = 1.0
    wish_percent: WishPercent = 0.0


class AskSize(Command):
    """How big should the next one be?"""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "case": ForecastCase.model_config["json_schema_extra"]["examples"][0],  # type: ignore[index]
                    "base": {
                        "inside_profile": [{"level_mm": 40, "girth_mm": 178.0}, {"level_mm": 80, "girth_mm": 166.0}],
                        "inside_sizes": [{"dimension": "residual_limb_length", "size_mm": 120.0}],
                        "fixed_features": [{"kind": "pin_bore", "nominal_mm": 3.2, "holds_mm": 3}],
                    },
                    "last": {"scale_across": 1.05, "scale_along": 1.0, "rescales": 1},
                    "socks": {"plies": [1, 3, 5], "most_worn": 2},
                    "wanted_months": 12,
                }
            ]
        }
    )

    case: ForecastCase
    base: BaseIn
    last: LastPrint = LastPrint()
    socks: SocksIn = SocksIn()
    liner_mm: Thickness = 0.0
    wanted_months: WantedMonths | None = None
    fitted_in_days: Annotated[int, Field(ge=0, le=LONGEST_LEAD_DAYS, strict=True)] = 28
    clinician_asks_to_recast: bool = False
    try_across: TryScale | None = None
    try_along: TryScale | None = None
    printing: PrintingIn = PrintingIn()
    hand: HandIn | None = None

    @property
    def side(self) -> Side | None:
        """The side the socket is for, as far as it is said."""
        limits = self.case.device.limits if self.case.device else []
        return self.base.side or next((limit.side for limit in limits if limit.side), None)

    @property
    def profile(self) -> list[tuple[float, float]]:
        """The base's inside profile as (level, girth)."""
        return [(each.level_mm, each.girth_mm) for each in self.base.inside_profile]

    @property
    def landmark(self) -> str:
        """Where the levels are counted from, in words."""
        facts = CATALOGUE[self.base.dimension]
        above_elbow = facts.landmark_above_elbow if self.case.limb == "upper_arm" else ""
        return short_landmark(above_elbow or facts.landmark)


def _is_a_room(text: str) -> str:
    if len(_EDGE.findall(text)) != 3 or not all(0 < edge <= LONGEST_MM for edge in _edges(text)):
        raise ValueError("Write the printer's room as three lengths in mm, such as 220 x 220 x 250")
    return text


_EDGE = re.compile(r"\d+(?:[.,]\d+)?")


def _edges(text: str) -> list[float]:
    return [float(edge.replace(",", ".")) for edge in _EDGE.findall(text)]


Room = Annotated[
    str,
    Field(max_length=60, description="A printer's room in mm, such as 220 x 220 x 250."),
    AfterValidator(_is_a_room),
]


class SizeWish(Command):
    """What may be asked for beside what the register knows. Scales are relative to the last print."""

    months: Annotated[WantedMonths | None, NO_CHOICE] = None
    socks: Annotated[MostWorn | None, NO_CHOICE] = None
    across: Annotated[TryScale | None, NO_CHOICE] = None
    along: Annotated[TryScale | None, NO_CHOICE] = None
    hand: Annotated[WishPercent | None, NO_CHOICE] = None
    recast: Annotated[bool, Field(description="A clinician asks for a new shape.")] = False
    printer: Annotated[Room | None, NO_CHOICE] = None

    @property
    def printer_mm(self) -> tuple[float, float, float] | None:
        """The printer's room, if it was said."""
        if self.printer is None:
            return None
        x, y, z = _edges(self.printer)
        return x, y, z


class TryWish(Command):
    """A version tried on a limb: at which scales of its file, and for how many months it should do."""

    across: Annotated[TryScale | None, NO_CHOICE] = None
    along: Annotated[TryScale | None, NO_CHOICE] = None
    months: Annotated[WantedMonths | None, NO_CHOICE] = None
    socks: Annotated[MostWorn | None, NO_CHOICE] = None
