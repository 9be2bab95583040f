"""Derive the tables in this folder from open measurements of children. They hold statistics, not data.

    HANDSPAN_CHECK_DATA=... python service/anthropometry/tables/derive.py

Sources (`growth/snyder1977_individual.csv` and `growth/longitudinal_dev.csv` of the data folder):

- the survey: R. G. Snyder et al., *Anthropometry of Infants, Children, and Youths to Age 18 for Product Safety
  Design*, UM-HSRI-77-17, 1977; by the US government, in the public domain. Ages 2 to 19, each child once.
- the study: the Berkeley Guidance Study, Tuddenham & Snyder 1954; 68 children followed from birth.

One table a dimension gives, by age, the median and the standard deviation of log size among people of that age: the
survey's. Under two, where the survey has nobody, height and weight are the study's, joined at two and a half; girths
follow the root of weight over height, as a cylinder's would, and lengths a regression on height and weight among the
survey's two- to five-year-olds: guesses with a basis. Adults keep the values of the last age;
`service.anthropometry.reference` says how far to trust that.

`typical.csv` says how big a child of average tempo is. A median over children of one age mixes early and late
developers, so its growth spurt is flatter and longer than any child's. Where children were followed, the curve is the
one most likely to have made what was seen of them: each is large or small for good, lives the curve on a stretched
clock, and departs from it slowly. Its prior is the survey's median: growth far from it, or that turns sharply, has to
be earned, so that half the children would give nearly the same curve.

- height and weight: the study's;
- hand length: height's, as a constant share. In the survey the hand is 11.3 % of stature at three, 10.9 % at eleven
  and 10.7 % at seventeen; no study that followed single hands is open;
- forearm girth: that of calf girth in the study, measured from eight on, a proxy: nobody's forearm was followed. In
  the survey forearms and calves grow alike in boys, while girls' forearms grow about a fifth less than their calves;
- everything else: the curve whose average over tempos, m(age * exp(t)) with t normal, is the survey's median.

Each is shifted to meet the survey's median over ages 6 to 16.
"""

import csv
import os
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_smoothing_spline

from service.anthropometry import Dimension, Sex, reference

Floats = NDArray[np.float64]
Rows = list[dict[str, str]]

HERE = Path(__file__).parent
AGES = np.concatenate([[0.0, 0.1], np.arange(0.25, 20.01, 0.25)])
FIRST_SURVEYED, LAST_SURVEYED, JOIN = 2.25, 18.5, 2.5
SEXES: dict[Sex, tuple[str, str]] = {"female": ("2", "F"), "male": ("1", "M")}  # as the survey and the study write it
COLUMNS = {
    "forearm_girth": "FOREARM CIRCUMFERENCE",
    "upper_arm_girth": "UPPER ARM CIRCUMFERENCE",
    "hand_length": "HAND LENGTH",
    "hand_breadth": "HAND BREADTH",
    "forearm_length": "RADIALE-STYLION LENGTH",
    "height": "STATURE",
    "weight": "WEIGHT",
}
SURVEY_UNIT = {"weight": 0.1}  # the survey's weight is in tenths of a kilogram, everything else in millimetres
STUDY_UNIT = {"height": 10.0, "weight": 1.0}

KNOTS = np.concatenate([np.arange(0, 2, 0.25), np.arange(2, 22.1, 0.5)])
FINE = np.arange(0, 20.01, 0.25)
TEMPOS = np.linspace(-2.5, 2.5, 21)  # in SDs
ROUGHNESS = 300.0


@dataclass(frozen=True, slots=True)
class Followed:
    """Where the study has a dimension, and how its children differ: SDs of log tempo and of departures in log size."""

    column: str
    tempo: float
    wander: float


# The SDs are those of the growth model's priors, in round figures: the curve hardly depends on them.
FOLLOWED = {
    Dimension.HEIGHT: Followed("height", tempo=0.09, wander=0.014),
    Dimension.HAND_LENGTH: Followed("height", tempo=0.09, wander=0.014),
    Dimension.WEIGHT: Followed("weight", tempo=0.04, wander=0.08),
    Dimension.FOREARM_GIRTH: Followed("leg.circ", tempo=0.04, wander=0.04),
}
WANDER_YEARS, STUDY_ERROR, ANY_LEVEL = 2.3, 0.003, 0.5
YOUNGEST_FOLLOWED = 2.0  # below, the reference already is the study's
GROWTH_PRIOR, BEND_PRIOR, ROUNDS = 300.0, 3000.0, 15
SURVEYED_TEMPO = {Dimension.UPPER_ARM_GIRTH: 0.04, Dimension.HAND_BREADTH: 0.09, Dimension.FOREARM_LENGTH: 0.09}


def read(path: Path) -> Rows:
    """The rows of a file by column."""
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def numbers(rows: Rows, column: str) -> Floats:
    """The column as floats; what was not measured (empty, NA or 0) becomes NaN."""
    found = np.array([float(row[column]) if row[column] not in {"", "NA"} else np.nan for row in rows])
    return np.where(found > 0, found, np.nan)


def smooth(ages: Floats, log_size: Floats) -> tuple[Floats, Floats]:
    """Smoothed median and SD of log size at AGES, from one sex's individuals."""
    known = np.isfinite(log_size)
    ages, log_size = ages[known], log_size[known]
    edges = np.arange(FIRST_SURVEYED, LAST_SURVEYED + 0.5, 0.5)
    centres, medians, counts = [], [], []
    for low, high in pairwise(edges):
        bin_ = (ages >= low) & (ages < high)
        centres.append(ages[bin_].mean())
        medians.append(np.median(log_size[bin_]))
        counts.append(bin_.sum())
    curve = make_smoothing_spline(centres, medians, w=np.asarray(counts, float))
    at = np.clip(AGES, centres[0], centres[-1])
    residual = log_size - curve(np.clip(ages, centres[0], centres[-1]))
    # 1.4826 x the median absolute deviation is the SD of a normal; single slips of the survey cannot move it.
    spread = [1.4826 * np.median(np.abs(residual[np.abs(ages - age) < 1.25])) for age in at]
    # A person grows no smaller: the survey's few eighteen-year-olds must not bend the curve down.
    return np.maximum.accumulate(curve(at)), np.convolve(np.pad(spread, 4, "edge"), np.ones(9) / 9, "valid")


def infants(rows: Rows, sex: str, dimension: str, surveyed: Floats) -> Floats:
    """Log median height or weight, with the ages under JOIN from the infants' study."""
    ages = numbers(rows, "age")
    ages[np.isnan(ages)] = 0.0
    size = np.log(numbers(rows, dimension) * STUDY_UNIT[dimension])
    of_sex = np.array([row["sex"] == sex for row in rows])
    knots = np.array(sorted({age for age in ages if age <= 3.0 and age != 0.085}))
    medians = np.array([np.nanmedian(size[of_sex & (ages == age)]) for age in knots])
    young = AGES < JOIN
    # Growth slows as the square root of age in the first years: straight lines on that axis stay true between knots.
    shape = np.interp(np.sqrt(AGES), np.sqrt(knots), medians)
    join = np.interp(JOIN, AGES, surveyed) - np.interp(np.sqrt(JOIN), np.sqrt(knots), medians)
    return np.where(young, shape + join, surveyed)


def join_young(
    name: str, median: Floats, body: dict[str, Floats], log_size: dict[str, Floats], who: NDArray[np.bool_]
) -> Floats:
    """Log median with the ages under JOIN predicted from infants' height and weight."""
    if name.endswith("girth"):
        # A limb is a cylinder whose mass is a share of the body's: girth goes as the root of weight over height.
        slopes = np.array([-0.5, 0.5])
    else:
        predictors = np.column_stack([log_size["height"], log_size["weight"]])
        rows = who & np.isfinite(predictors).all(axis=1) & np.isfinite(log_size[name])
        known, size = predictors[rows], log_size[name][rows]
        slopes = np.linalg.lstsq(known - known.mean(axis=0), size - size.mean(), rcond=None)[0]
    predicted = np.column_stack([body["height"], body["weight"]]) @ slopes
    shift = np.interp(JOIN, AGES, median) - np.interp(JOIN, AGES, predicted)
    joined = np.where(AGES < JOIN, predicted + shift, median)
    # Plump babies' arms would thin by a millimetre as they learn to walk; a median here never falls.
    return np.minimum.accumulate(joined[::-1])[::-1]


def hats(ages: Floats) -> Floats:
    """Piecewise-linear interpolation from KNOTS as a matrix."""
    return np.array([np.interp(ages, KNOTS, unit) for unit in np.eye(len(KNOTS))]).T


def rate_and_bend() -> tuple[Floats, Floats]:
    """The first and second derivative of a curve at KNOTS, as matrices."""
    rate = np.diff(np.eye(len(KNOTS)), axis=0) / np.diff(KNOTS)[:, None]
    return rate, np.diff(rate, axis=0) / np.diff((KNOTS[1:] + KNOTS[:-1]) / 2)[:, None]


def without_tempo(population: Floats, tempo: float) -> Floats:
    """The curve at KNOTS whose average over tempos is `population` (at FINE), as smooth as ROUGHNESS asks."""
    weights = np.exp(-0.5 * TEMPOS**2) / np.exp(-0.5 * TEMPOS**2).sum()
    mixing = sum(weight * hats(FINE * np.exp(tempo * t)) for t, weight in zip(TEMPOS, weights, strict=True))
    _, bend = rate_and_bend()
    precision = 1 / 0.01**2
    return np.linalg.solve(
        precision * mixing.T @ mixing + ROUGHNESS * bend.T @ bend + 1e-6 * np.eye(len(KNOTS)),
        precision * mixing.T @ population,
    )


def histories(rows: Rows, column: str, letter: str) -> list[tuple[Floats, Floats]]:
    """Each followed child's ages and log sizes."""
    size, age = np.log(numbers(rows, column)), np.nan_to_num(numbers(rows, "age"))
    found = []
    for child in sorted({row["id"] for row in rows if row["sex"] == letter}):
        of_child = np.array([row["id"] == child for row in rows]) & np.isfinite(size) & (age >= YOUNGEST_FOLLOWED)
        found.append((age[of_child], size[of_child]))
    return found


def likeliest(children: list[tuple[Floats, Floats]], survey: Floats, how: Followed) -> Floats:
    """The curve at KNOTS likeliest to have made these histories, by expectation maximisation over their tempos."""
    rate, bend = rate_and_bend()
    steps, turns = np.diff(KNOTS)[:, None], np.diff((KNOTS[1:] + KNOTS[:-1]) / 2)[:, None]
    prior = GROWTH_PRIOR * rate.T @ (steps * rate) + BEND_PRIOR * bend.T @ (turns * bend) + 1e-3 * np.eye(len(KNOTS))
    known = []
    for ages, sizes in children:
        apart = np.sqrt(3) * np.abs(ages[:, None] - ages) / WANDER_YEARS
        covariance = ANY_LEVEL**2 + how.wander**2 * (1 + apart) * np.exp(-apart) + STUDY_ERROR**2 * np.eye(len(ages))
        known.append((sizes, np.linalg.inv(covariance), np.array([hats(ages * np.exp(how.tempo * t)) for t in TEMPOS])))
    curve = survey
    for _ in range(ROUNDS):
        left, right = prior, prior @ survey
        for sizes, precision, places in known:
            missed = sizes - places @ curve
            fit = -0.5 * TEMPOS**2 - 0.5 * np.einsum("tn,nm,tm->t", missed, precision, missed)
            weight = np.exp(fit - fit.max())
            weighted = (weight / weight.sum())[:, None, None] * (precision @ places)
            left = left + np.tensordot(weighted, places, axes=((0, 1), (0, 1)))
            right = right + weighted.sum(axis=0).T @ sizes
        curve = np.linalg.solve(left, right)
    return curve


def typical(rows: Rows, dimension: Dimension, sex: Sex, letter: str) -> Floats:
    """Log size at KNOTS of a child of average tempo; nobody grows smaller."""
    survey = reference(dimension, sex).log_median
    if dimension in FOLLOWED:
        how = FOLLOWED[dimension]
        same = Dimension.HEIGHT if how.column == "height" else dimension
        prior = reference(same, sex).log_median(KNOTS)
        curve = likeliest(histories(rows, how.column, letter), prior, how)
    else:
        curve = without_tempo(survey(FINE), SURVEYED_TEMPO[dimension])
    schoolchild = (KNOTS >= 6) & (KNOTS <= 16)
    return np.maximum.accumulate(curve + np.mean((survey(KNOTS) - curve)[schoolchild]))


def derive_reference(survey: Rows, study: Rows) -> None:
    """Write one table a dimension."""
    ages = numbers(survey, "AGE IN YEARS") / 1000
    log_size = {name: np.log(numbers(survey, column) * SURVEY_UNIT.get(name, 1.0)) for name, column in COLUMNS.items()}
    tables: dict[str, list[Floats]] = {name: [AGES] for name in COLUMNS}
    for survey_sex, study_sex in SEXES.values():
        of_sex = np.array([row["SEX"] == survey_sex for row in survey])
        curves = {name: smooth(ages[of_sex], size[of_sex]) for name, size in log_size.items()}
        body = {name: infants(study, study_sex, name, curves[name][0]) for name in STUDY_UNIT}
        for name, (median, spread) in curves.items():
            fitted = body[name] if name in body else join_young(name, median, body, log_size, (ages < 5.5) & of_sex)
            tables[name] += [np.exp(fitted), spread]
    for name, columns in tables.items():
        titles = [f"{sex}_{what}" for sex in SEXES for what in ("median", "log_sd")]
        write(HERE / f"{name}.csv", dict(zip(["age_years", *titles], columns, strict=True)))


def derive_typical(study: Rows) -> None:
    """Write the typical child's table. Reads the reference tables, so they come first."""
    columns = {
        f"{dimension}_{sex}": np.exp(typical(study, dimension, sex, study_sex))
        for dimension in map(Dimension, COLUMNS)
        for sex, (_, study_sex) in SEXES.items()
    }
    write(HERE / "typical.csv", {"age_years": KNOTS} | columns)


def write(path: Path, columns: dict[str, Floats]) -> None:
    """Five significant digits: a tenth of a millimetre where the tape shows a whole one."""
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows([f"{value:.5g}" for value in row] for row in zip(*columns.values(), strict=True))


if __name__ == "__main__":
    folder = Path(os.environ["HANDSPAN_CHECK_DATA"]) / "growth"
    study_rows = read(folder / "longitudinal_dev.csv")
    derive_reference(read(folder / "snyder1977_individual.csv"), study_rows)
    derive_typical(study_rows)
