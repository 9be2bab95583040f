"""The longitudinal study behind the priors: its children's histories, and the typical child derived from some of them.

Calf girth stands for arm girth and stature for hand length, as in the cases; see `service/growth/model/priors.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Literal

import numpy as np

import service.anthropometry
from service.anthropometry import Dimension, TypicalChild, typical_child
from service.growth.model.process import Floats
from tests.benchmarks.cases import data_folder

Sexed = Literal["female", "male"]
Typical = Callable[[Dimension, Sexed], TypicalChild]

COLUMNS = {Dimension.RESIDUAL_LIMB_GIRTH: "leg.circ", Dimension.WEIGHT: "weight", Dimension.HAND_LENGTH: "height"}
LETTERS: dict[Sexed, str] = {"female": "F", "male": "M"}
GROWN = 18.0  # few children were followed further
REDERIVED = {Dimension.RESIDUAL_LIMB_GIRTH: Dimension.FOREARM_GIRTH}
STUDIED = {
    Dimension.RESIDUAL_LIMB_GIRTH,
    Dimension.FOREARM_GIRTH,
    Dimension.HAND_LENGTH,
    Dimension.HEIGHT,
    Dimension.WEIGHT,
}


@dataclass(frozen=True)
class History:
    """What one child was over the years: ages (years) and log sizes."""

    sex: Sexed
    ages: Floats
    log_sizes: Floats


@cache
def derivation() -> ModuleType:
    """The script that made the packaged tables."""
    path = Path(service.anthropometry.__file__).parent / "tables" / "derive.py"
    spec = spec_from_file_location("derive", path)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def rows_without(children: Collection[str]) -> list[dict[str, str]]:
    """The study's rows, without these children's."""
    rows = derivation().read(data_folder() / "growth" / "longitudinal_dev.csv")
    return [row for row in rows if row["id"] not in children]


def typical_without(children: Collection[str]) -> Typical:
    """The typical child, derived without these."""
    rows = rows_without(children)

    @cache
    def typical(dimension: Dimension, sex: Sexed) -> TypicalChild:
        if dimension not in STUDIED:
            return typical_child(dimension, sex)
        dimension = REDERIVED.get(dimension, dimension)
        return TypicalChild(derivation().KNOTS, derivation().typical(rows, dimension, sex, LETTERS[sex]))

    return typical


def histories_without(children: Collection[str], dimension: Dimension, typical: Typical) -> Sequence[History]:
    """The followed children's histories, without these children's.

    Girls as a group, and boys, are shifted to the typical child: a calf stands for an arm, so only how children differ
    is of use.
    """
    rows, found = rows_without(children), []
    for sex, letter in LETTERS.items():
        known = derivation().histories(rows, COLUMNS[dimension], letter)
        known = [(ages[ages <= GROWN], sizes[ages <= GROWN]) for ages, sizes in known]
        off = np.mean([np.mean(sizes - typical(dimension, sex).log_size(ages)) for ages, sizes in known])
        found += [History(sex, ages, sizes - off) for ages, sizes in known]
    return found
