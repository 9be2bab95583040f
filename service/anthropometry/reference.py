"""How big a dimension is at an age: median and spread of log size, from the tables in `tables/`.

`tables/derive.py` says where they come from and makes them. They describe sound limbs. What has no table of its own
borrows one here, with a wider spread: a residual limb's girth varies more than a sound forearm's, and its length
depends on where the limb ends, which no table knows.
"""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from service.anthropometry.dimensions import Dimension

Sex = Literal["female", "male", "unspecified"]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Borrowed:
    """A dimension without a table: another's, times `ratio`, with the log SD raised to at least `log_sd`."""

    table: Dimension
    ratio: float
    log_sd: float


BORROWED = {
    # The limb's level is not known here: the fullest girth of the forearm is the plain default.
    Dimension.RESIDUAL_LIMB_GIRTH: Borrowed(Dimension.FOREARM_GIRTH, 1.0, 0.15),
    # Half a forearm, give or take the whole range a limb can end in.
    Dimension.RESIDUAL_LIMB_LENGTH: Borrowed(Dimension.FOREARM_LENGTH, 0.5, 0.5),
    # Breadth across the epicondyles is about four fifths of the hand's breadth in adults and children alike.
    Dimension.EPICONDYLAR_BREADTH: Borrowed(Dimension.HAND_BREADTH, 0.8, 0.08),
}

# A residual limb that ends at the elbow or above is an upper arm. Half of one, again, which is about 1.3 forearms long.
BORROWED_ABOVE_ELBOW = {
    Dimension.RESIDUAL_LIMB_GIRTH: Borrowed(Dimension.UPPER_ARM_GIRTH, 1.0, 0.15),
    Dimension.RESIDUAL_LIMB_LENGTH: Borrowed(Dimension.FOREARM_LENGTH, 0.65, 0.5),
}

# Past the tables, at this age, people have filled out: soft dimensions vary more than at twenty. An allowance.
MATURE = 40.0
MATURE_LOG_SD = {Dimension.WEIGHT: 0.22, Dimension.FOREARM_GIRTH: 0.10, Dimension.UPPER_ARM_GIRTH: 0.14}


@dataclass(frozen=True, slots=True)
class Curve:
    """One dimension's reference for one sex. Arguments may be numbers or arrays; any age from birth on is answered."""

    ages: Floats
    log_medians: Floats
    log_sds: Floats

    def log_median(self, age_years: ArrayLike) -> Floats:
        """Natural log of the median size (mm or kg)."""
        return np.asarray(np.interp(np.asarray(age_years, float), self.ages, self.log_medians))

    def median(self, age_years: ArrayLike) -> Floats:
        """Median size (mm or kg)."""
        return np.exp(self.log_median(age_years))

    def log_sd(self, age_years: ArrayLike) -> Floats:
        """Standard deviation of log size between people of that age."""
        return np.asarray(np.interp(np.asarray(age_years, float), self.ages, self.log_sds))

    def z(self, value: ArrayLike, age_years: ArrayLike) -> Floats:
        """How many standard deviations of log size `value` lies above the median."""
        return (np.log(value) - self.log_median(age_years)) / self.log_sd(age_years)


@cache
def reference(dimension: Dimension, sex: Sex, *, above_elbow: bool = False) -> Curve:
    """The reference curve of a dimension. "unspecified" mixes both sexes and is wider for it.

    `above_elbow` is of a residual limb that ends at the elbow or above, and makes no difference to other dimensions.
    """
    lenders = BORROWED | BORROWED_ABOVE_ELBOW if above_elbow else BORROWED
    if dimension in lenders:
        borrowed = lenders[dimension]
        lender = reference(borrowed.table, sex)
        return Curve(
            lender.ages,
            lender.log_medians + np.log(borrowed.ratio),
            np.maximum(lender.log_sds, borrowed.log_sd),
        )
    if sex == "unspecified":
        female, male = reference(dimension, "female"), reference(dimension, "male")
        half_gap = (male.log_medians - female.log_medians) / 2
        mean_square = (female.log_sds**2 + male.log_sds**2) / 2
        return Curve(female.ages, female.log_medians + half_gap, np.sqrt(mean_square + half_gap**2))
    table = read_table(dimension)
    mature_sd = max(MATURE_LOG_SD.get(dimension, 0.0), table[f"{sex}_log_sd"][-1])
    return Curve(
        np.append(table["age_years"], MATURE),
        np.append(np.log(table[f"{sex}_median"]), np.log(table[f"{sex}_median"][-1])),
        np.append(table[f"{sex}_log_sd"], mature_sd),
    )


@cache
def read_table(name: str) -> dict[str, Floats]:
    """A packaged table by its columns."""
    with (files("service.anthropometry") / "tables" / f"{name}.csv").open() as file:
        rows = list(csv.DictReader(file))
    return {column: np.array([float(row[column]) for row in rows]) for column in rows[0]}


# Beyond the steepest median growth nearby: log growth over a year that swelling, fattening or a late spurt may add.
_UNUSUAL_IN_A_YEAR = {
    Dimension.WEIGHT: 0.16,
    Dimension.RESIDUAL_LIMB_GIRTH: 0.08,
    Dimension.FOREARM_GIRTH: 0.07,
    Dimension.UPPER_ARM_GIRTH: 0.08,
}
_UNUSUAL_LENGTH = 0.03
_TEMPO_YEARS = 2.0


def largest_believable_growth(
    dimension: Dimension, age_years: float, days: float, *, above_elbow: bool = False
) -> float:
    """Log growth over `days` from `age_years` on that practically no child exceeds; 0.10 is about ten per cent.

    The steepest median growth within two years of age (a child may be early or late), half as much again, plus an
    allowance that grows with the square root of time. Measurement error is not in it: add the tape's own. `above_elbow`
    as for `reference`.
    """
    years = max(days, 0.0) / 365.25
    ages = np.linspace(max(age_years - _TEMPO_YEARS, age_years / 2), age_years + years + _TEMPO_YEARS, 40)
    sexes: tuple[Sex, ...] = ("female", "male")
    curves = (reference(dimension, sex, above_elbow=above_elbow) for sex in sexes)
    steepest = max(float(np.max(np.gradient(curve.log_median(ages), ages))) for curve in curves)
    unusual = _UNUSUAL_IN_A_YEAR.get(dimension, _UNUSUAL_LENGTH)
    return 1.5 * max(steepest, 0.0) * years + unusual * float(np.sqrt(years))
