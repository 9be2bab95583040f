"""What a version's file says of the next socket: its inside, walls, features and plastic, as the question takes them.

Pure. Lengths are mm, scales factors of the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import pi

from service.anthropometry import CATALOGUE
from service.devices.schemas import LimitView
from service.geometry.answers import LevelGirth as ProfileLevel
from service.parts.answers import VersionFacts
from service.parts.rules import USUAL_DENSITY, density_of, limits_at
from service.recipients.rules import Side
from service.sizing.model.fit import ACROSS
from service.sizing.rules import BREADTHS, GIRTHS, LENGTHS
from service.sizing.schemas import (
    DEEPEST_MM,
    LONGEST_MM,
    MOST_PROFILE_LEVELS,
    THICKEST_MM,
    BaseIn,
    FixedFeature,
    InsideSize,
    LastPrint,
    LevelGirth,
    PrintingIn,
    SolidIn,
)


@dataclass(frozen=True, slots=True)
class WornPrint:
    """A socket printed from a version the register holds, at two scales of its file."""

    socket: int
    side: Side
    fitted_on: date
    facts: VersionFacts
    across: float
    along: float
    material: str

    def when(self) -> tuple[date, int]:
        """Its place in the order in which sockets were worn."""
        return self.fitted_on, self.socket

    def is_before(self, other: WornPrint) -> bool:
        """Whether it is an earlier print of the same shape, or of the same design, on the same limb."""
        same = (self.facts.shape, self.facts.design) == (other.facts.shape, other.facts.design)
        return same and self.side is other.side and self.when() < other.when()


SAME_LINER_MM = 0.25
"""Liners that differ by less are one: a limit is kept to a tenth of a millimetre of girth."""


def inside_profile(facts: VersionFacts) -> list[LevelGirth]:
    """The file's inside girths where a limb can be: a socket may close, or reach over the landmark, beyond it.

    Empty when the inside of the file is not known. At most `MOST_PROFILE_LEVELS`, spread evenly.
    """
    if facts.inside is None or facts.inside.dimension not in GIRTHS:
        return []
    girth = CATALOGUE[facts.inside.dimension]
    found = [
        each
        for each in facts.geometry.inside_profile
        if 0 <= each.level_mm <= DEEPEST_MM and girth.smallest <= each.girth_mm <= girth.largest
    ]
    step = -(-len(found) // (MOST_PROFILE_LEVELS - 1)) or 1
    kept = {each.level_mm: each.girth_mm for each in [*found[::step], *found[-1:]]}
    return [LevelGirth(level_mm=level, girth_mm=size) for level, size in sorted(kept.items())]


def base_of(facts: VersionFacts, side: Side, inside_sizes: Sequence[InsideSize] = ()) -> BaseIn:
    """The file as what the next socket is printed from. Its inside must be known."""
    assert facts.inside is not None  # noqa: S101 - callers have looked
    shape = facts.geometry
    solid = None
    if shape.volume_mm3 and max(shape.bounding_box_mm) <= LONGEST_MM:
        solid = SolidIn(volume_mm3=shape.volume_mm3, area_mm2=shape.area_mm2, box_mm=_along_last(facts))
    return BaseIn(
        dimension=facts.inside.dimension,
        side=side.value,
        inside_profile=inside_profile(facts),
        inside_sizes=list(inside_sizes),
        wall_mm=shape.thinnest_wall_mm or None,
        fixed_features=[
            FixedFeature(**each.model_dump(include=set(FixedFeature.model_fields))) for each in facts.features
        ],
        solid=solid,
    )


def _along_last(facts: VersionFacts) -> tuple[float, float, float]:
    """The box around the file, its edge along the axis last: that nearest to the axis, if it lies aslant."""
    edges, direction = facts.geometry.bounding_box_mm, facts.axis.direction
    along = max(range(3), key=lambda index: abs(direction[index]))
    x, y = (edge for index, edge in enumerate(edges) if index != along)
    return x, y, edges[along]


def other_sizes(limits: Iterable[LimitView], last: LastPrint, liner_mm: float) -> list[InsideSize]:
    """Inside sizes of the file that are no girth, from where the socket worn is tight: breadths across, lengths along.

    The file does not say them, but what was printed from it does.
    """
    found = []
    for limit in limits:
        if limit.dimension in BREADTHS:
            size = (limit.tight_at_mm + ACROSS * liner_mm) / last.scale_across
        elif limit.dimension in LENGTHS:
            size = (limit.tight_at_mm + liner_mm) / last.scale_along
        else:
            continue
        facts = CATALOGUE[limit.dimension]
        if facts.smallest <= size <= facts.largest:
            found.append(InsideSize(dimension=limit.dimension, size_mm=size))
    return found


def printing_of(facts: VersionFacts, material: str, printer_mm: tuple[float, float, float] | None) -> PrintingIn:
    """How the version is printed, in the material worn now or else the first it names."""
    settings = facts.print_settings
    return PrintingIn(
        nozzle_mm=settings.nozzle_mm,
        wall_mm=min(settings.walls * settings.nozzle_mm, THICKEST_MM),
        infill=settings.infill,
        density=density_of(material_of(facts, material)) or USUAL_DENSITY,
        printer_mm=printer_mm,
    )


def material_of(facts: VersionFacts, material: str) -> str:
    """The material the next one is reckoned in; empty if nobody says."""
    return material or next(iter(facts.materials), "")


def liner_worn(facts: VersionFacts, limits: Iterable[LimitView], last: LastPrint) -> float:
    """The liner of the socket worn, mm: what its limits leave of the inside it was printed with; else the file's own.

    Whoever recorded the socket may have said another liner than the file does, and the limits are what remains of it.
    """
    assert facts.inside is not None  # noqa: S101 - callers have looked
    bare = [ProfileLevel(level_mm=each.level_mm, girth_mm=each.girth_mm) for each in facts.geometry.inside_profile]
    missing = []
    for limit in limits:
        if limit.dimension is not facts.inside.dimension or limit.level_mm is None:
            continue
        inside = limits_at(bare, last.scale_across, last.scale_along, 0.0, [limit.level_mm])
        missing += [(girth - limit.tight_at_mm) / (2 * pi) for _level, girth in inside]
    own = facts.inside.liner_mm
    if not missing or max(missing) - min(missing) > SAME_LINER_MM:
        return own
    found = sum(missing) / len(missing)
    if abs(found - own) <= SAME_LINER_MM or not 0 <= found <= THICKEST_MM:
        return own
    return round(found, 1)


def rescaled(before: Iterable[WornPrint], now: WornPrint) -> int:
    """How often a shape was rescaled: the distinct scales it was worn at before, other than the present ones.

    Scales are kept to a ten-thousandth; what is nearer than that is one print.
    """
    return len({_scales(each) for each in before} - {_scales(now)})


def distinct_scales(worn: Iterable[WornPrint]) -> int:
    """At how many scales a shape was worn."""
    return len({_scales(each) for each in worn})


def _scales(worn: WornPrint) -> tuple[float, float]:
    return round(worn.across, 4), round(worn.along, 4)
