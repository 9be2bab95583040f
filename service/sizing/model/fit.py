"""Which scale across fits on day one, with which socks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from service.sizing.model.socks import thickness_mm

FIT_TOLERANCE_MM = 3.0  # of girth, either way; common practice: about what a tape cannot tell
NEAR_MM = 10.0  # an inside girth or a reading stands for levels this near its own; common practice
ROUND, ACROSS = 2 * pi, 2.0  # what a layer 1 mm thick takes of a girth, of a breadth
_HAIR = 0.04  # mm of girth: a scale chosen at the edge of the tolerance still fits when it is said to four digits

Verdict = Literal["fits", "tight", "loose", "uneven"]


@dataclass(frozen=True, slots=True)
class Place:
    """Where limb and socket are compared: the bare limb on day one and the base's inside there, in mm.

    `layer` is what a layer 1 mm thick takes of it: ROUND or ACROSS.
    """

    limb_mm: float
    inside_mm: float
    layer: float = ROUND

    @property
    def tolerance_mm(self) -> float:
        """The tolerance of a girth, as this size feels it."""
        return FIT_TOLERANCE_MM * self.layer / ROUND

    def gap_mm(self, across: float, layers_mm: float) -> float:
        """What is left between inside and limb beside layers of this thickness; below zero it presses."""
        return across * self.inside_mm - self.layer * layers_mm - self.limb_mm


@dataclass(frozen=True, slots=True)
class Judged:
    """A scale on day one: the socks that suit it best, what they leave at each place (mm), and the verdict.

    `tight` presses somewhere even without socks, `loose` hangs somewhere even with the thickest, and `uneven` is right
    at one place when it is wrong at another.
    """

    across: float
    plies: tuple[int, ...]
    gaps_mm: tuple[float, ...]
    verdict: Verdict


def inside_at(profile: Sequence[tuple[float, float]], level_mm: float, along: float) -> float | None:
    """The base's inside girth (mm) that comes to lie at a limb level; None where the profile does not reach.

    `profile` holds (level, girth) of the base, in mm.
    """
    levels, girths = zip(*sorted(profile), strict=True)
    reaches = levels[0] * along - NEAR_MM <= level_mm <= levels[-1] * along + NEAR_MM
    return float(np.interp(level_mm / along, levels, girths)) if reaches else None


def judge(places: Sequence[Place], across: float, sets: Sequence[tuple[int, ...]], liner_mm: float) -> Judged:
    """How a scale fits on day one; `sets` of socks are thinnest first."""
    tried = [_with_socks(places, across, plies, liner_mm) for plies in sets]
    fitting = [each for each in tried if each.verdict == "fits"]
    if fitting:
        return min(fitting, key=lambda each: _misfit(places, each))
    if tried[0].verdict in {"tight", "uneven"}:
        return replace(tried[0], verdict="tight")
    if tried[-1].verdict == "loose":
        return tried[-1]
    return replace(min(tried, key=lambda each: _misfit(places, each)), verdict="uneven")


def choose(
    places: Sequence[Place], sets: Sequence[tuple[int, ...]], liner_mm: float, needed: float | None = None
) -> Judged:
    """The largest scale across that fits on day one; the smallest fitting one that is not below `needed`, if given.

    If no scale fits everywhere, the one at which the tightest place is filled by the thickest socks: nothing presses.
    """
    spans = [_span(places, liner_mm, thickness_mm(plies)) for plies in sets]
    fitting = [(low, high) for low, high in spans if low <= high]
    if not fitting:
        layers = liner_mm + thickness_mm(sets[-1])
        across = max((p.limb_mm + p.layer * layers) / p.inside_mm for p in places)
        gaps = tuple(place.gap_mm(across, layers) for place in places)
        return Judged(across, sets[-1], gaps, "uneven")
    enough = [] if needed is None else [max(low, needed) for low, high in fitting if high >= needed]
    across = min(enough) if enough else max(high for _, high in fitting)
    return judge(places, across, sets, liner_mm)


def _with_socks(places: Sequence[Place], across: float, plies: tuple[int, ...], liner_mm: float) -> Judged:
    gaps = tuple(place.gap_mm(across, liner_mm + thickness_mm(plies)) for place in places)
    tight = any(
        gap < -place.tolerance_mm - _HAIR or place.gap_mm(across, liner_mm) < -_HAIR
        for gap, place in zip(gaps, places, strict=True)
    )
    loose = any(gap > place.tolerance_mm + _HAIR for gap, place in zip(gaps, places, strict=True))
    verdict: Verdict = "uneven" if tight and loose else "tight" if tight else "loose" if loose else "fits"
    return Judged(across, plies, gaps, verdict)


def _misfit(places: Sequence[Place], judged: Judged) -> float:
    return max(abs(gap) / place.layer for gap, place in zip(judged.gaps_mm, places, strict=True))


def _span(places: Sequence[Place], liner_mm: float, socks_mm: float) -> tuple[float, float]:
    """The least and the largest scale at which liner and socks fill the socket within the tolerance.

    The bare limb and the liner must go in at the least, tolerance or no.
    """
    low, high = 0.0, np.inf
    for place in places:
        bare = place.limb_mm + place.layer * liner_mm
        filled = bare + place.layer * socks_mm
        low = max(low, bare / place.inside_mm, (filled - place.tolerance_mm) / place.inside_mm)
        high = min(high, (filled + place.tolerance_mm) / place.inside_mm)
    return low, high


def size_needed(sizes: Sequence[NDArray[np.float64]], places: Sequence[Place], liner_mm: float, sure: float) -> float:
    """The scale across not outgrown within the time that `sizes` cover, with this probability.

    `sizes` holds for each place the paths of the bare limb (N x T, mm) over that time.
    """
    pairs = zip(sizes, places, strict=True)
    filled = [(paths.max(axis=1) + place.layer * liner_mm) / place.inside_mm for paths, place in pairs]
    return float(np.quantile(np.max(filled, axis=0), sure))
