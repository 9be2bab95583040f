"""How far somebody's own goals were reached, on one scale: goal attainment.

    T = 50 + 10 * sum(w x) / sqrt(0.7 * sum(w^2) + 0.3 * (sum w)^2)

over goals with weights w and scores x from -2 (much less than hoped) through 0 (as hoped) to +2. With the correlation
of 0.3 between goals that its authors took as usual, T has mean 50 and SD 10 where scores have mean 0 and SD 1.

Kiresuk & Sherman 1968, Community Mental Health Journal 4, 443-453.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, sqrt
from typing import Final

SCORES: Final = (-2, -1, 0, 1, 2)

CORRELATION: Final = 0.3
"""Of one goal's score with another's."""


def goal_attainment(scores: Sequence[int], weights: Sequence[float]) -> float:
    """T of one person's goals. Raises ValueError, with what to do, when there is none to be had."""
    if len(scores) != len(weights):
        raise ValueError(f"{len(scores)} scores and {len(weights)} weights: give each goal one of both")
    if any(score not in SCORES for score in scores):
        raise ValueError("a score is -2, -1, 0, 1 or 2")
    if any(not isfinite(weight) or weight < 0 for weight in weights):
        raise ValueError("a weight is 0 or more")
    together = sum(weights)
    if together <= 0:
        raise ValueError("no goal has a weight: give at least one goal a weight above 0")
    total = sum(weight * score for weight, score in zip(weights, scores, strict=True))
    squares = sum(weight**2 for weight in weights)
    return 50 + 10 * total / sqrt((1 - CORRELATION) * squares + CORRELATION * together**2)
