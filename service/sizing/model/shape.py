"""Rescale the shape that there is, or take a new one?"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

TAPE_SD = 0.012  # log; one observer's girths of the same limb are reproducible to 3.3 %, 2.77 SD (te Slaa 2011)
# The range that so many equal things exceed 1 time in 20, in SD of one (the studentised range, infinite freedom).
RANGE_AT_5_PERCENT = {2: 2.77, 3: 3.31, 4: 3.63, 5: 3.86, 6: 4.03, 7: 4.17, 8: 4.29, 9: 4.39, 10: 4.47}
MOST_RESCALES = 2  # common practice

Verdict = Literal["rescale", "recast", "cannot tell"]


@dataclass(frozen=True, slots=True)
class Likeness:
    """How far a limb departs from a scaled copy of the base: the range of its scales over the levels, as a share.

    `within` is what the tape alone explains, 19 times in 20; `smallest` and `largest` are the indices of the levels
    at which the limb is smallest and largest beside the base.
    """

    spread: float
    within: float
    smallest: int
    largest: int

    @property
    def is_a_copy(self) -> bool:
        """Whether the tape alone could have made the difference."""
        return self.spread <= self.within


def likeness(limb_mm: Sequence[float], inside_mm: Sequence[float]) -> Likeness | None:
    """Compare the limb with the base's inside at the same levels; None for fewer than two, which cannot tell."""
    if len(limb_mm) < min(RANGE_AT_5_PERCENT):
        return None
    scales = np.log(np.asarray(limb_mm) / np.asarray(inside_mm))
    allowed = RANGE_AT_5_PERCENT[min(len(limb_mm), max(RANGE_AT_5_PERCENT))] * TAPE_SD
    spread = float(np.expm1(np.ptp(scales)))
    return Likeness(spread, float(np.expm1(allowed)), int(scales.argmin()), int(scales.argmax()))


def verdict(found: Likeness | None, rescales: int | None, *, fits: bool, clinician_asks: bool) -> Verdict:
    """Recast when a clinician asks, after two rescales, when no scale fits, or when the limb is no scaled copy."""
    rescaled_enough = rescales is not None and rescales >= MOST_RESCALES
    if clinician_asks or rescaled_enough or not fits or (found is not None and not found.is_a_copy):
        return "recast"
    return "rescale" if found is not None else "cannot tell"
