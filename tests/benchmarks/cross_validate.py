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
from dataclasses import replace
from functools import cache
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Literal

import service.anthropometry
from service.anthropometry import Dimension, TypicalChild, typical_child
from service.growth.model.priors import PRIORS, Priors
from tests.benchmarks.cases import FILES, Score, data_folder, load, score
from tests.benchmarks.fit import GIRTH, HAND, fit, show

REDERIVED = {Dimension.RESIDUAL_LIMB_GIRTH: Dimension.FOREARM_GIRTH}
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
    return {child: place % folds for place, child in enumerate(sorted(children))}


def main(folds: int) -> None:
    groups = {name: load(name) for name in FILES}
    dealt = folds_of(list({known.child for cases in groups.values() for known in cases}), folds)
    priors: dict[int, Priors] = {}
    for fold in range(folds):
        out = {child for child, place in dealt.items() if place == fold}
        start = replace(PRIORS, typical=typical_without(out))
        priors[fold] = fit([[k for k in cases if k.child not in out] for cases in groups.values()], start)
        print(f"fold {fold + 1} of {folds}: without {len(out)} children")
        show(priors[fold])
    print(
        f"\n{'':34}{'unseen children':>20}{'as shipped':>20}\n{'':34}{'pinball  cover80':>20}{'pinball  cover80':>20}"
    )
    for name, cases in groups.items():
        for what, chosen in (("all", {GIRTH, HAND}), ("girth", {GIRTH}), ("hand", {HAND})):
            mine = [known for known in cases if known.dimension in chosen]
            unseen, shipped = score(mine, lambda known: priors[dealt[known.child]]), score(mine, PRIORS)
            print(f"{name:18}{what:6}{unseen.cases:6} cases{_cells(unseen)}{_cells(shipped)}")


def _cells(found: Score) -> str:
    return f"{found.pinball:11.1f} {found.cover80:8.3f}"


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
