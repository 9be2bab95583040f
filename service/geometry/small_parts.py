"""Does a loose body fit entirely in the small-parts cylinder (16 CFR 1501.4), in some orientation?

The cavity is in `cavity.py`. It is convex, so a body lies in it when its hull does. If it fits at a scale s it fits at
every smaller one: let sQK + t lie in C, let c be any point of C, and s' = a s with 0 <= a <= 1; then

    s'QK + (a t + (1 - a) c)  =  a (sQK + t) + (1 - a) c  lies in C,    for C is convex.

So there is one scale up to which it fits. It is enclosed from both sides: below by a pose that was found, with every
point of the hull checked there (`poses.py`); above by showing that no rotation does better (`covering.py`). While the
part's own size, a scale of 1, lies between, that is too near to say, and it is taken to fit.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from service.geometry.answers import SmallPart
from service.geometry.arrays import plural
from service.geometry.cavity import BORE_MM, DEEP_MM, SHALLOW_MM
from service.geometry.covering import Covering, span
from service.geometry.mesh import Points

GAP, FINE_GAP = 0.005, 0.001  # between the two scales, as a share: usually, and where the answer hangs on it
_EFFORT = 6_000_000  # points placed in search of a proof: two seconds or so
_TOO_MANY = 100_000  # corners to look for a hull in: nearly all may be on it
_FLAT = 1e-7  # of the largest extent

CYLINDER = f"the small-parts cylinder of 16 CFR 1501.4 ({BORE_MM:g} mm across, {SHALLOW_MM:g} to {DEEP_MM:g} mm deep)"


def small_part(bodies: Sequence[Points]) -> SmallPart:
    """The verdict on a part of one or more bodies, each (n, 3) points in mm; raises ValueError when there is none.

    The part fits if any of its bodies does, so the scales are of the body that fits soonest.
    """
    covered = _cover(bodies, GAP)
    if covered.least <= 1 < covered.gauge:
        finer = _cover(bodies, FINE_GAP)
        finer.least = max(finer.least, covered.least)  # it may have given up sooner
        covered = finer if finer.gauge <= covered.gauge else covered
    return SmallPart(
        fits=covered.least <= 1,
        sure=covered.gauge <= 1 or covered.least > 1,
        why=_why(len(bodies), covered),
        fits_up_to_scale=1 / covered.gauge,
        not_from_scale=1 / covered.least,
    )


def _cover(bodies: Sequence[Points], gap: float) -> Covering:
    """The bodies counted in, small ones first."""
    hulls = sorted(_different([_hull(points) for points in bodies]), key=span)
    if not hulls:
        raise ValueError("A part has a body at least")
    covering = Covering(gap, _EFFORT)
    for hull in hulls:
        covering.add(hull)
    return covering


def _why(count: int, covered: Covering) -> str:
    """Whether it fits, and at what size it would."""
    it = "It" if count == 1 else f"One of its {count:,} bodies, {covered.length_mm:.1f} mm long,"
    up_to, beyond = np.floor(1000 / covered.gauge) / 1000, np.ceil(1000 / covered.least) / 1000
    if covered.gauge <= 1:
        return f"{it} fits entirely in {CYLINDER}, and would up to {up_to:.3f} times this size."
    if covered.least <= 1:
        return (
            f"{it} may just fit in {CYLINDER}: it would at {up_to:.3f} times this size, and not at {beyond:.3f} times. "
            "That is too near to say, so take it to fit."
        )
    if count == 1:
        return f"It does not fit in {CYLINDER}, however it is turned; it would at {up_to:.3f} times this size."
    return (
        f"None of its {plural(count, 'body', 'bodies')} fits in {CYLINDER}, however turned; the smallest would at "
        f"{up_to:.3f} times this size."
    )


def _hull(points: Points) -> Points:
    """The corners of the hull of points, a flat one too, about their middle; all when they are very many."""
    points = points - (points.max(axis=0) + points.min(axis=0)) / 2
    some = points[:: len(points) // 20_000 + 1]
    axes = np.linalg.svd(some - some.mean(axis=0), full_matrices=False)[2]
    spread = np.ptp(points @ axes.T, axis=0) > _FLAT * np.abs(points).max()
    if spread.sum() < 2:
        along = points @ axes[0]
        return points[[along.argmin(), along.argmax()]]
    if len(points) > _TOO_MANY:
        return points
    try:
        return points[ConvexHull(points if spread.sum() == 3 else points @ axes[spread].T).vertices]
    except QhullError:  # flatter than it can say
        return points


def _different(hulls: list[Points]) -> list[Points]:
    """Without those that are copies moved elsewhere, as on a plate of the same part several times."""
    kept: dict[bytes, Points] = {}
    for hull in hulls:
        ordered = np.round(hull, 6) + 0.0
        kept.setdefault(ordered[np.lexsort(ordered.T)].tobytes(), hull)
    return list(kept.values())
