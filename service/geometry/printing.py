"""What scaling does to a printed part: holes, walls, the printer's room, plastic, time and cost.

Lengths are mm, masses g. A box is (across, across, along): the part's own axis comes last.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Literal

NOZZLES_A_WALL = 2.0  # a thinner wall is one line of plastic or none; common practice
PRINT_ERROR_MM = 0.5  # of a printed size at least; common practice
FILAMENT_MM = 1.75
FLOW_MM3_S = 4.0  # plastic laid down over a whole print, moves included; judgement: a socket takes about five hours

Kind = Literal["pin_bore", "screw_hole", "tendon_channel", "sensor_pocket", "coupling"]
DRILLED: frozenset[Kind] = frozenset({"pin_bore", "screw_hole", "tendon_channel"})
Box = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Feature:
    """What must not scale: its size in the base file, what goes into it and the clearance that needs."""

    kind: Kind
    nominal_mm: float
    holds_mm: float
    clearance_mm: float

    @property
    def needed_mm(self) -> float:
        """The least size at which what is bought still goes in."""
        return self.holds_mm + self.clearance_mm


@dataclass(frozen=True, slots=True)
class Printed:
    """A part's plastic: solid walls, and the rest filled in part."""

    plastic_mm3: float

    def mass_g(self, density: float) -> float:
        """The mass at a density in g/cm3."""
        return self.plastic_mm3 * density / 1000

    def hours(self, flow_mm3_s: float = FLOW_MM3_S) -> float:
        """How long a printer takes that lays down so much a second."""
        return self.plastic_mm3 / flow_mm3_s / 3600


@dataclass(frozen=True, slots=True)
class Solid:
    """The base's closed volume, its area and the box around it."""

    volume_mm3: float
    area_mm2: float
    box_mm: Box

    def scaled(self, across: float, along: float) -> "Solid":
        """The part at two scales. The share of area on the sides and on the ends is taken to be the box's."""
        x, y, z = self.box_mm
        ends, sides = x * y, (x + y) * z
        area = (ends * across**2 + sides * across * along) / (ends + sides)
        return Solid(
            self.volume_mm3 * across**2 * along,
            self.area_mm2 * area,
            (x * across, y * across, z * along),
        )

    def printed(self, wall_mm: float, infill: float) -> Printed:
        """The plastic at a printed wall (it does not scale) and an infill (a share).

        Area times wall counts the edges twice; what that is on the box is taken off. Exact for a box, a few per cent
        off for anything else.
        """
        x, y, z = self.box_mm
        twice = 4 * (x + y + z) * wall_mm**2 - 8 * wall_mm**3
        shell = min(max(self.area_mm2 * wall_mm - twice, 0.0), self.volume_mm3)
        return Printed(shell + infill * (self.volume_mm3 - shell))


def comes_out(feature: Feature, scale: float) -> float:
    """The size a feature is printed at, mm."""
    return feature.nominal_mm * scale


def passes(feature: Feature, scale: float) -> bool:
    """Whether what is bought goes in as printed."""
    return comes_out(feature, scale) >= feature.needed_mm


def scale_that_passes(feature: Feature) -> float:
    """The least scale at which it goes in as printed."""
    return feature.needed_mm / feature.nominal_mm


def feature_sentence(feature: Feature, scale: float) -> str:
    """What comes out of a fixed feature, and what to do."""
    name = feature.kind.replace("_", " ")
    out = comes_out(feature, scale)
    came = f"The {name} of {feature.nominal_mm:g} mm comes out at {out:.2f} mm"
    if not passes(feature, scale):
        remedy = (
            f"drill or ream it to {feature.needed_mm:.2f} mm"
            if feature.kind in DRILLED
            else f"change the file so that it stays {feature.needed_mm:.2f} mm"
        )
        enough = scale_that_passes(feature)
        return f"{came}, and {feature.needed_mm:.2f} mm are needed: {remedy}, or print at {enough:.3f} or more."
    if feature.kind != "tendon_channel" and out - feature.needed_mm > PRINT_ERROR_MM:
        spare = out - feature.needed_mm
        stays = f"change the file so that it stays {feature.needed_mm:.2f} mm"
        return f"{came}, {spare:.2f} mm more than needed: it will be loose. Line it, or {stays}."
    if out - feature.needed_mm < PRINT_ERROR_MM:
        return f"{came}: what goes in still does, if the printer is true. Try it before the part is fitted."
    return f"{came}: what goes in still does."


def wall_is_too_thin(wall_mm: float, nozzle_mm: float) -> bool:
    """Whether a wall, as scaled, is thinner than a printer can make whole."""
    return wall_mm < NOZZLES_A_WALL * nozzle_mm


def fits_printer(box_mm: Sequence[float], printer_mm: Sequence[float]) -> bool:
    """Whether a box goes into a printer standing or lying, its edges along the printer's; never set up slantwise."""
    return all(edge <= room for edge, room in zip(sorted(box_mm), sorted(printer_mm), strict=True))


def filament_g_per_m(density: float) -> float:
    """Grams of a metre of 1.75 mm filament, density in g/cm3."""
    return pi / 4 * FILAMENT_MM**2 * density
