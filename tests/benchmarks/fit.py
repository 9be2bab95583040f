# ruff: noqa: T201 - a script prints
"""Fit the growth model's hyperparameters to children with known answers.

    HANDSPAN_CHECK_DATA=... python -m tests.benchmarks.fit

A coordinate descent on the mean pinball loss from round starting values, coarse steps first. The loss is flat near its
minimum, and what is gained in its last hundredths is lost again on other children: a step is only taken if it is worth
WORTHWHILE days. `service/growth/model/priors.py` holds rounded results.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from service.anthropometry import Dimension
from service.growth.model.priors import PRIORS, Family, Priors, Spread
from tests.benchmarks.cases import FILES, KnownCase, load, mean, score

GIRTH, HAND, WEIGHT = Dimension.RESIDUAL_LIMB_GIRTH, Dimension.HAND_LENGTH, Dimension.WEIGHT
START = {
    GIRTH: Spread(level=0.05, profile=PRIORS.families[0].members[GIRTH].profile, gain_sd=0.1, wander=0.03, tape=0.01),
    WEIGHT: Spread(level=0.15, gain_sd=0.15, wander=0.1, tape=0.01),
    HAND: Spread(level=0.05, gain_sd=0.1, wander=0.01, tape=0.01),
}
CONTEXT = {"tempo_sd": 0.08, "wander_years": 3.0, "early_is_large": 0.25}
SPREADS = ("level", "gain_sd", "wander", "tape")
STEPS = (1.5, 1.2)
WORTHWHILE = 0.15

Knob = tuple[Dimension | None, str]  # a dimension's spread, or (None) the family's


def generic(priors: Priors = PRIORS) -> Priors:
    """The priors before any fit: structure and judgement kept, everything fitted set to a round value."""
    soft, bony = priors.families
    return replace(
        priors,
        families=(
            _with(soft, {GIRTH: START[GIRTH], WEIGHT: START[WEIGHT]}, CONTEXT),
            _with(bony, {HAND: START[HAND]}, CONTEXT),
        ),
    )


def _with(family: Family, spreads: dict[Dimension, Spread], context: dict[str, float]) -> Family:
    return replace(family, members=family.members | spreads, **context)  # type: ignore[arg-type]


def fit(groups: Sequence[Sequence[KnownCase]], priors: Priors) -> Priors:
    """Fit both families to the cases of `groups` (one a file), starting from `generic`."""
    start = generic(priors)
    hands = [case for case in groups[0] if case.dimension == HAND]
    girths = [case for group in groups for case in group if case.dimension == GIRTH]
    hand_knobs: list[Knob] = [(HAND, name) for name in SPREADS] + [(None, name) for name in CONTEXT]
    girth_knobs: list[Knob] = [(GIRTH, name) for name in SPREADS] + [(None, name) for name in CONTEXT]
    girth_knobs += [(WEIGHT, "level"), (WEIGHT, "wander")]
    soft = _descend(start, 0, girth_knobs, girths)
    return _descend(soft, 1, hand_knobs, hands)


def _descend(priors: Priors, family: int, knobs: list[Knob], cases: Iterable[KnownCase]) -> Priors:
    cases = list(cases)
    best = _loss(cases, priors)
    for step in STEPS:
        for knob in knobs:
            for factor in (step, 1 / step):
                tried = _turned(priors, family, knob, factor)
                loss = _loss(cases, tried)
                while loss < best - WORTHWHILE:
                    priors, best = tried, loss
                    tried = _turned(priors, family, knob, factor)
                    loss = _loss(cases, tried)
    return priors


def _loss(cases: Iterable[KnownCase], priors: Priors) -> float:
    return mean(score(case, priors) for case in cases).pinball


def _turned(priors: Priors, index: int, knob: Knob, factor: float) -> Priors:
    dimension, name = knob
    families = list(priors.families)
    family = families[index]
    if dimension is None:
        value = min(getattr(family, name) * factor, 0.95 if name == "early_is_large" else 20.0)
        families[index] = replace(family, **{name: value})
    else:
        spread = family.members[dimension]
        turned = replace(spread, **{name: getattr(spread, name) * factor})
        families[index] = replace(family, members=family.members | {dimension: turned})
    return replace(priors, families=tuple(families))


def described(priors: Priors) -> str:
    """What was fitted, for reading."""
    lines = []
    for family, dimensions in zip(priors.families, ((GIRTH, WEIGHT), (HAND,)), strict=True):
        for dimension in dimensions:
            fitted = {name: round(getattr(family.members[dimension], name), 4) for name in SPREADS}
            lines.append(f"{dimension:22}{fitted}")
        lines.append(f"{'':22}{ {name: round(getattr(family, name), 3) for name in CONTEXT} }")
    return "\n".join(lines)


if __name__ == "__main__":
    print(described(fit([load(name) for name in FILES], PRIORS)))
