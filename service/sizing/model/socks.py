"""Socks as layers: how thick they are, and which sets of them can be worn together."""

from collections.abc import Collection, Sequence
from itertools import chain, combinations_with_replacement

import numpy as np

from service.growth.model.priors import PRIORS

MOST_WORN = 2  # socks over each other on day one; common practice, a site may set its own
MOST_SOCK_MM = 2.0  # thickness of them together: more makes control vague; common practice, a site may set its own


def thickness_mm(plies: Sequence[int]) -> float:
    """The thickness of socks worn over each other, mm.

    Under load a 1, 3 or 5-ply sock of one material is 0.7, 1.2 or 1.5 mm (Sanders 2012); other plies are read between.
    That stacked socks add up is an assumption.
    """
    known, thickness = zip(*sorted(PRIORS.ply_mm.items()), strict=True)
    return float(sum(np.interp(ply, (0, *known), (0.0, *thickness)) for ply in plies))


def sets_of_socks(plies: Collection[int], most_worn: int, most_mm: float) -> list[tuple[int, ...]]:
    """Every set of the available plies within both bounds, thinnest first, beginning with none."""
    counts = (combinations_with_replacement(sorted(set(plies)), n) for n in range(most_worn + 1))
    sets = (each for each in chain.from_iterable(counts) if thickness_mm(each) <= most_mm)
    return sorted(sets, key=lambda each: (thickness_mm(each), len(each)))
