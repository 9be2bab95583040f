"""What to withhold so that a number cannot be worked out, at the least loss."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, diags_array, hstack, identity

from service.disclosure.audit import NODES, Audit, adds_up
from service.disclosure.cuts import EVERYBODY, Cell
from service.disclosure.system import Place, Points

LOSS_OF_TOTAL, LOSS_OF_COLUMN, LOSS_OF_ROW, LOSS_OF_INNER = 200.0, 60.0, 25.0, 10.0
"""What withholding one number costs a reader: a total stands behind more figures than one cell of it."""

LOSS_OF_KEPT = 300.0
"""What it costs where the population says that this column is to be kept."""

LOSS_OF_FEW = 30.0
"""What it costs more to withhold even that a number is small: "fewer than 8" is something, "withheld" hardly."""


def losses(
    places: tuple[Place, ...], least: Points, small: NDArray[np.bool_], keep: tuple[str, ...] = ()
) -> NDArray[np.float64]:
    """The loss (N,) of each number, by the `least` (N,) that it may be and whether it is told as `small` (N,).

    Larger counts weigh a little more; the last digits decide between equals.
    """
    of_kind = np.array([_of_kind(place, keep) for place in places])
    few = np.where(small, LOSS_OF_FEW, 0.0)
    loss: NDArray[np.float64] = of_kind + few + 2 * np.log10(least) + np.arange(len(places)) / (1e3 * len(places))
    return loss


def _of_kind(place: Place, keep: tuple[str, ...]) -> float:
    if not isinstance(place, Cell):
        return LOSS_OF_ROW
    if place == EVERYBODY:
        return LOSS_OF_TOTAL
    if place.table is None:
        return LOSS_OF_COLUMN
    if place.column is None:
        return LOSS_OF_ROW
    return LOSS_OF_KEPT if place.column in keep else LOSS_OF_INNER


@dataclass(frozen=True)
class Choice:
    """Which numbers `may` (N,) be withheld, the least that each may be then, the `loss` (N,) that it costs, and by how
    much at most a withheld number is imagined to be off when it is asked which ones help.
    """

    may: NDArray[np.bool_]
    low: int
    reach: int
    loss: NDArray[np.float64]


@dataclass(frozen=True)
class Help:
    """The numbers to withhold, what that costs, and counts (N,) that are possible then."""

    withheld: tuple[int, ...]
    loss: float
    counts: Points


def cheapest_help(audit: Audit, at: int, pinned: tuple[int, int], choice: Choice) -> Help | None:
    """What to withhold so that number `at` may be something outside the range to which it is pinned; None if nothing
    helps.
    """
    least, most = pinned
    ways = (_help(audit, choice, at, (most + 1, None)), _help(audit, choice, at, (1, least - 1)))
    return min((way for way in ways if way is not None), key=lambda way: way.loss, default=None)


def _help(audit: Audit, choice: Choice, at: int, within: tuple[int, int | None]) -> Help | None:
    """Least sum of losses over whole counts that add up, where a number leaves its window only if it is withheld."""
    down = np.where(choice.may, np.minimum(choice.reach, audit.low - choice.low), 0).clip(0)
    up = np.where(choice.may, choice.reach, 0)
    low, high = audit.low - down, audit.high + up
    low[at] = max(low[at], within[0])
    high[at] = high[at] if within[1] is None else min(high[at], within[1])
    if low[at] > high[at]:
        return None
    answer = milp(
        np.concatenate([np.zeros(len(low)), choice.loss]),
        integrality=np.ones(2 * len(low), dtype=np.int64),
        bounds=Bounds(np.concatenate([low, 0 * low]), np.concatenate([high, choice.may])),
        constraints=_only_if_withheld(audit, down, up),
        # With its presolve the solver at times prints a line about what it could not put back.
        options={"node_limit": NODES, "presolve": False},
    )
    if answer.x is None:
        return None
    counts, withheld = np.split(np.rint(answer.x).astype(np.int64), 2)
    out = (counts < audit.low) | (counts > audit.high)
    if (out & (withheld == 0)).any() or not adds_up(audit.system.adds, counts):
        return None
    chosen = np.flatnonzero(withheld)
    return Help(tuple(chosen.tolist()), float(choice.loss[chosen].sum()), counts)


def _only_if_withheld(audit: Audit, down: Points, up: Points) -> list[LinearConstraint]:
    """Of counts (N,) and whether each is withheld (N,): they add up; none is over or under its window unless it is."""
    adds = audit.system.adds
    eye = identity(len(down), format="csr")
    over = hstack([eye, diags_array(-up.astype(float))], format="csr")
    under = hstack([eye, diags_array(down.astype(float))], format="csr")
    return [
        LinearConstraint(hstack([adds, csr_array(adds.shape)], format="csr"), 0, 0),
        LinearConstraint(over, -np.inf, audit.high),
        LinearConstraint(under, audit.low, np.inf),
    ]
