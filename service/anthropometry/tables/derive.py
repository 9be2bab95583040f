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
developers, so its growth spurt is flatter and longer than any child's. The table undoes the mixing: it is the smooth
curve m whose average over tempos, m(age * exp(t)) with t normal of SD TEMPO, is the population's curve:

- height and weight: mean growth in the study, so that no one's growth is guessed from other people's sizes;
- hand length: height's, as a constant share. In the survey the hand is 11.3 % of stature at three, 10.9 % at eleven
  and 10.7 % at seventeen; no study that followed single hands is open;
- forearm girth: the survey's median to eight and a half; from there the mean growth of calf girth in the study, a
  proxy: nobody's forearm was followed. In the survey forearms and calves grow alike in boys, while girls' forearms
  grow about a fifth less than their calves;
- everything else: the survey's medians.

Each is shifted so that its average over tempos meets the survey's median over ages 6 to 16.
"""

import csv
import os
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
TEMPO, ROUGHNESS = 0.1, 300.0
GIRTHS_FOLLOWED_FROM = 8.5
FOLLOWED = {Dimension.HEIGHT: "height", Dimension.WEIGHT: "weight"}


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


def mean_growth(rows: Rows, column: str, sex: str) -> Floats:
    """Cumulated mean growth of log size over FINE, from children followed; those absent at an age are left out."""
    size, age = np.log(numbers(rows, column)), np.nan_to_num(numbers(rows, "age"))
    grid = np.concatenate([np.arange(0, 3, 0.25), np.arange(3, 21.1, 0.5)])
    steps = []
    for child in sorted({row["id"] for row in rows if row["sex"] == sex}):
        seen = np.array([row["id"] == child for row in rows]) & np.isfinite(size)
        steps.append(np.diff(np.interp(grid, age[seen], size[seen], left=np.nan, right=np.nan)))
    followed = np.isfinite(steps).sum(axis=0)
    mean = np.nansum(steps, axis=0) / np.maximum(followed, 1)
    # Past seventeen few are left and hardly grow: a mean over a handful would be their luck.
    mean[(followed < 8) & (grid[1:] > 17)] = 0.0
    growth = np.interp(FINE, grid, np.concatenate([[0.0], np.cumsum(mean)]))
    smoothing = np.exp(-0.5 * (np.arange(-4, 5) * 0.25 / 0.3) ** 2)
    padded = np.concatenate([2 * growth[0] - growth[4:0:-1], growth, 2 * growth[-1] - growth[-2:-6:-1]])
    return np.convolve(padded, smoothing / smoothing.sum(), "valid")


def hats(ages: Floats) -> Floats:
    """Piecewise-linear interpolation from KNOTS as a matrix."""
    return np.array([np.interp(ages, KNOTS, unit) for unit in np.eye(len(KNOTS))]).T


def without_tempo(population: Floats) -> Floats:
    """The curve at KNOTS whose average over tempos is `population` (at FINE), as smooth as ROUGHNESS asks."""
    nodes = np.linspace(-2.5, 2.5, 21)
    weights = np.exp(-0.5 * nodes**2) / np.exp(-0.5 * nodes**2).sum()
    mixing = sum(weight * hats(FINE * np.exp(TEMPO * node)) for node, weight in zip(nodes, weights, strict=True))
    rate = np.diff(np.eye(len(KNOTS)), axis=0) / np.diff(KNOTS)[:, None]
    bend = np.diff(rate, axis=0) / np.diff((KNOTS[1:] + KNOTS[:-1]) / 2)[:, None]
    precision = 1 / 0.01**2
    curve = np.linalg.solve(
        precision * mixing.T @ mixing + ROUGHNESS * bend.T @ bend + 1e-6 * np.eye(len(KNOTS)),
        precision * mixing.T @ population,
    )
    return np.maximum.accumulate(curve)


def typical(rows: Rows, dimension: Dimension, sex: Sex, letter: str) -> Floats:
    """Log size at KNOTS of a child of average tempo."""
    survey = reference(dimension, sex).log_median(FINE)
    if dimension in FOLLOWED:
        population = mean_growth(rows, FOLLOWED[dimension], letter)
    elif dimension == Dimension.HAND_LENGTH:
        population = mean_growth(rows, "height", letter)
    elif dimension == Dimension.FOREARM_GIRTH:
        calf = mean_growth(rows, "leg.circ", letter)
        start = int(np.searchsorted(FINE, GIRTHS_FOLLOWED_FROM))
        population = np.where(np.arange(len(FINE)) < start, survey, calf - calf[start] + survey[start])
    else:
        population = survey
    schoolchild = (FINE >= 6) & (FINE <= 16)
    return without_tempo(population + np.mean((survey - population)[schoolchild]))


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
