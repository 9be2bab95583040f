"""How one child of average tempo grows: the shape a forecast starts from. `tables/derive.py` makes the table.

The reference median of `reference.py` says how big children of an age are; this says how a child grows, which a median
over early and late developers blurs. The level is the reference's, so the two agree on average.
"""

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from service.anthropometry.dimensions import Dimension
from service.anthropometry.reference import BORROWED, read_table

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TypicalChild:
    """Log size (mm or kg) against age in years; constant past the last age, where growth has ended."""

    ages: Floats
    log_sizes: Floats

    def log_size(self, age_years: ArrayLike) -> Floats:
        """Natural log of the size of a child of average tempo, at ages of any shape."""
        return np.asarray(np.interp(np.asarray(age_years, float), self.ages, self.log_sizes))


@cache
def typical_child(dimension: Dimension, sex: Literal["female", "male"]) -> TypicalChild:
    """The growth of a child of average tempo. What has no curve of its own borrows one, as the reference does."""
    if dimension in BORROWED:
        borrowed = BORROWED[dimension]
        lender = typical_child(borrowed.table, sex)
        return TypicalChild(lender.ages, lender.log_sizes + np.log(borrowed.ratio))
    table = read_table("typical")
    return TypicalChild(table["age_years"], np.log(table[f"{dimension}_{sex}"]))
