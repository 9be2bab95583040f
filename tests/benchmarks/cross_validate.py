# ruff: noqa: T201 - a script prints
"""How well the growth model does on children it has never seen.

    HANDSPAN_CHECK_DATA=... python -m tests.benchmarks.cross_validate [FOLDS]

The children of the longitudinal study are dealt into folds. For each fold the typical child's growth is derived again
and every fitted hyperparameter is fitted again, from round starting values, without the fold's children; then the
fold's cases are forecast. The table compares that with the priors the service ships (fitted to all). Takes minutes.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import cache
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Literal

import service.anthropometry
from service.anthropometry import Dimension, TypicalChild, typical_child
from service.growth.model.priors import PRIORS
from tests.benchmarks.cases import FILES, Score, data_folder, load, mean, score
from tests.benchmarks.fit import GIRTH, HAND, described, fit

REDERIVED = {Dimension.RESIDUAL_LIMB_GIRTH: Dimension.FOREARM_GIRTH}
CORES = 2
STUDIED = {
    Dimension.RESIDUAL_LIMB_GIRTH,
    Dimension.FOREARM_GIRTH,
    Dimension.HAND_LENGTH,
    Dimension.HEIGHT,
    Dimension.WEIGHT,
}


def derivation() -> ModuleType:
    """The script that made the packaged tables."""
    path = Path(service.anthropometry.__file__).parent / "tables" / "derive.py"
    spec = spec_from_file_location("derive", path)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def typical_without(children: set[str]) -> Callable[[Dimension, Literal["female", "male"]], TypicalChild]:
    """The typical child, derived without these."""
    derive = derivation()
    rows = [row for row in derive.read(data_folder() / "growth" / "longitudinal_dev.csv") if row["id"] not in children]

    @cache
    def typical(dimension: Dimension, sex: Literal["female", "male"]) -> TypicalChild:
        if dimension not in STUDIED:
            return typical_child(dimension, sex)
        dimension = REDERIVED.get(dimension, dimension)
        return TypicalChild(derive.KNOTS, derive.typical(rows, dimension, sex, "F" if sex == "female" else "M"))

    return typical


def folds_of(children: list[str], folds: int) -> dict[str, int]:
    """Deal the children, in the order of their names, into folds."""
    return {child: place % folds for place, child in enumerate(sorted(set(children)))}


def unseen(fold: int, folds: int) -> tuple[str, dict[str, dict[str, Score]]]:
    """What was fitted without a fold's children; and by file and case, how their cases were forecast with it."""
    groups = {name: load(name) for name in FILES}
    dealt = folds_of([known.child for cases in groups.values() for known in cases], folds)
    out = {child for child, place in dealt.items() if place == fold}
    start = replace(PRIORS, typical=typical_without(out))
    priors = fit([[known for known in cases if known.child not in out] for cases in groups.values()], start)
    return described(priors), {
        name: {known.name: score(known, priors) for known in cases if known.child in out}
        for name, cases in groups.items()
    }


def main(folds: int) -> None:
    """Print what each fold fitted, then the table."""
    found: dict[str, dict[str, Score]] = {name: {} for name in FILES}
    with ProcessPoolExecutor(CORES) as pool:
        for fold, (fitted, scores) in enumerate(pool.map(unseen, range(folds), [folds] * folds)):
            print(f"without fold {fold + 1} of {folds}\n{fitted}", flush=True)
            for name in FILES:
                found[name] |= scores[name]
    print(
        f"\n{'':34}{'unseen children':>20}{'as shipped':>20}\n{'':34}{'pinball  cover80':>20}{'pinball  cover80':>20}"
    )
    for name in FILES:
        for what, chosen in (("all", {GIRTH, HAND}), ("girth", {GIRTH}), ("hand", {HAND})):
            mine = [known for known in load(name) if known.dimension in chosen]
            cells = mean(found[name][known.name] for known in mine), mean(score(known, PRIORS) for known in mine)
            figures = "".join(f"{each.pinball:11.1f} {each.cover80:8.3f}" for each in cells)
            print(f"{name:18}{what:6}{len(mine):6} cases{figures}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
