"""Derive the reference tables in this folder from open measurements of children.

    HANDSPAN_CHECK_DATA=... python service/anthropometry/tables/derive.py

Sources (files `growth/snyder1977_individual.csv` and `growth/longitudinal_dev.csv` of the data folder):

- Ages 2 to 19: R. G. Snyder et al., *Anthropometry of Infants, Children, and Youths to Age 18 for Product Safety
  Design*, UM-HSRI-77-17, 1977; a US government survey, in the public domain.
- Height and weight under two, where that survey has nobody: the Berkeley Guidance Study (Tuddenham & Snyder 1954),
  joined to the survey at two and a half years.
- Everything else under two: log size regressed on log height and log weight among the survey's two- to
  five-year-olds, then applied to the infants' height and weight. A guess with a basis; the model is told it is one.

Each table gives, by age, the median and the standard deviation of log size in one year of age: statistics, not data.
Adults keep the values of the last age: `service.anthropometry.reference` says how far to trust that.
"""

import csv
import os
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_smoothing_spline

Floats = NDArray[np.float64]

HERE = Path(__file__).parent
AGES = np.concatenate([[0.0, 0.1], np.arange(0.25, 20.01, 0.25)])
FIRST_SURVEYED, LAST_SURVEYED, JOIN = 2.25, 18.5, 2.5
SEXES = {"female": ("2", "F"), "male": ("1", "M")}
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
INFANT_UNIT = {"height": 10.0, "weight": 1.0}


def read(path: Path) -> list[dict[str, str]]:
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def numbers(rows: list[dict[str, str]], column: str) -> Floats:
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


def infants(rows: list[dict[str, str]], sex: str, dimension: str, surveyed: Floats) -> Floats:
    """Log median height or weight, with the ages under JOIN from the infants' study."""
    ages = numbers(rows, "age")
    ages[np.isnan(ages)] = 0.0
    size = np.log(numbers(rows, dimension) * INFANT_UNIT[dimension])
    of_sex = np.array([row["sex"] == sex for row in rows])
    knots = np.array(sorted({age for age in ages if age <= 3.0 and age != 0.085}))
    medians = np.array([np.nanmedian(size[of_sex & (ages == age)]) for age in knots])
    young = AGES < JOIN
    # Growth slows as the square root of age in the first years: straight lines on that axis stay true between knots.
    shape = np.interp(np.sqrt(AGES), np.sqrt(knots), medians)
    join = np.interp(JOIN, AGES, surveyed) - np.interp(np.sqrt(JOIN), np.sqrt(knots), medians)
    return np.where(young, shape + join, surveyed)


def main() -> None:
    folder = Path(os.environ["HANDSPAN_CHECK_DATA"]) / "growth"
    survey, infant_rows = read(folder / "snyder1977_individual.csv"), read(folder / "longitudinal_dev.csv")
    ages = numbers(survey, "AGE IN YEARS") / 1000
    log_size = {name: np.log(numbers(survey, column) * SURVEY_UNIT.get(name, 1.0)) for name, column in COLUMNS.items()}
    tables: dict[str, list[Floats]] = {name: [AGES] for name in COLUMNS}
    for survey_sex, infant_sex in SEXES.values():
        of_sex = np.array([row["SEX"] == survey_sex for row in survey])
        curves = {name: smooth(ages[of_sex], size[of_sex]) for name, size in log_size.items()}
        body = {name: infants(infant_rows, infant_sex, name, curves[name][0]) for name in INFANT_UNIT}
        for name, (median, spread) in curves.items():
            fitted = body[name] if name in body else join_young(name, median, body, log_size, (ages < 5.5) & of_sex)
            tables[name] += [np.exp(fitted), spread]
    for name, columns in tables.items():
        write(HERE / f"{name}.csv", columns, digits=3 if name == "weight" else 1)


def join_young(
    name: str, median: Floats, body: dict[str, Floats], log_size: dict[str, Floats], who: NDArray[np.bool_]
) -> Floats:
    """Log median with the ages under JOIN predicted from infants' height and weight."""
    predictors = np.column_stack([log_size["height"], log_size["weight"]])
    rows = who & np.isfinite(predictors).all(axis=1) & np.isfinite(log_size[name])
    slopes = np.linalg.lstsq(
        predictors[rows] - predictors[rows].mean(axis=0), log_size[name][rows] - log_size[name][rows].mean(), rcond=None
    )[0]
    predicted = np.column_stack([body["height"], body["weight"]]) @ slopes
    shift = np.interp(JOIN, AGES, median) - np.interp(JOIN, AGES, predicted)
    joined = np.where(AGES < JOIN, predicted + shift, median)
    # The regression has plump babies' arms shrink by a millimetre as they learn to walk; a median here never falls.
    return np.minimum.accumulate(joined[::-1])[::-1]


def write(path: Path, columns: list[Floats], digits: int) -> None:
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["age_years", "female_median", "female_log_sd", "male_median", "male_log_sd"])
        for age, *values in zip(*columns, strict=True):
            shown = [f"{value:.{digits if i % 2 == 0 else 4}f}" for i, value in enumerate(values)]
            writer.writerow([f"{age:g}", *shown])


if __name__ == "__main__":
    main()
