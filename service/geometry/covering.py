"""How small the small-parts cylinder can be at most and still take no body: a search that leaves no rotation out.

All rotations are covered with cells. A cell is done with when the ties found at its middle hold the gauge up to the aim
in the whole of it (`orientations.py`); else it is cut smaller. Cells hold all spins at first, for where the wall alone
settles them no spin matters. Fewer points only lower the gauge, so cells are first asked with a few, and with more
where these leave too little.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.geometry.arrays import Bools, Floats, Indices
from service.geometry.cavity import LONGEST_MM, Held, hold
from service.geometry.mesh import Points
from service.geometry.orientations import (
    Cells,
    Seen,
    all_of_them,
    balanced,
    least_of,
    levers,
    seen,
    spins_of,
    surely_above,
)
from service.geometry.poses import Pose, best_pose, better

_TIERS = (64, 256, 1024, 4096)  # directions, in each of which the outermost point stands for those around it
_MOST = 20_000  # points that are all asked; of more, some that stand for them
_ENOUGH = 1_200  # points: with more the best pose hardly shifts
_BUNDLES = 30  # steps of a direction's parts: some ten thousand bundles
_A_BODY, _A_CORNER = 60_000, 60  # points' worth of effort to find a body's best pose, for it and for each corner
_AT_ONCE = 2_000_000
_BETTER, _BETTER_IF_SOME = 1e-6, 2e-3  # by which a pose must look better to be tried, as a share
_CLEAR = 0.6  # of the way from the aim to the gauge


@dataclass(frozen=True, slots=True)
class _Body:
    """All points (n, 3), ever more of them to be asked, and the length of a line that lies in their hull."""

    points: Points
    tiers: list[Points]
    length: float

    @property
    def all_asked(self) -> bool:
        """Whether the last tier is all."""
        return self.tiers[-1] is self.points

    @property
    def some(self) -> Points:
        """As many as the place of the best pose hangs on."""
        return max((tier for tier in self.tiers if len(tier) <= _ENOUGH), key=len, default=self.tiers[0])


@dataclass(slots=True)
class Covering:
    """The least gauge of any body so far, `gauge`, what none is below, `least`, and how long that body is, in mm.

    They come as near as `gap`, as a share, unless that takes more than `effort` points placed.
    """

    gap: float
    effort: int
    gauge: float = np.inf
    least: float = np.inf
    length_mm: float = 0.0

    def add(self, points: Points) -> None:
        """Count in a body, the hull of points (n, 3): find its best pose, and show that there is no better one."""
        length = span(points)
        floor = length / LONGEST_MM
        if floor >= self.gauge:
            return
        body = _Body(points, _tiers(points), length)
        if self.effort > 0:
            self.effort -= _A_BODY + _A_CORNER * len(body.tiers[-1])
            self._keep(best_pose(points, body.some, body.tiers[min(1, len(body.tiers) - 1)], self.gauge), body)
        cells, known = all_of_them(), None
        while len(cells) and self.effort > 0:
            cells, known = self._round(body, cells, known)
        if len(cells):
            reached = float(known.least(seen(cells)).min()) if known else 0.0
            self.least = min(self.least, max(floor, reached))
        self.least = min(self.least, self._aim)

    @property
    def _aim(self) -> float:
        return self.gauge * (1 - self.gap)

    @property
    def _clear(self) -> float:
        """A gauge that leaves room for a cell around it; where one is less, it pays to ask more of what holds it."""
        return self._aim + _CLEAR * (self.gauge - self._aim)

    def _try(self, body: _Body, rotation: Floats, gauge: float) -> None:
        """Improve a pose if it looks better than what is known."""
        if gauge < self.gauge * (1 - (_BETTER if body.all_asked else _BETTER_IF_SOME)):
            self._keep(better(body.points, body.some, rotation), body)

    def _keep(self, pose: Pose, body: _Body) -> None:
        if pose.gauge < self.gauge:
            self.gauge, self.length_mm = pose.gauge, body.length

    def _round(self, body: _Body, cells: Cells, known: _Ties | None) -> tuple[Cells, _Ties]:
        """The cells that are left, cut smaller, with the ties they are known by; `known` are those of their parents."""
        view = seen(cells)
        if known:
            left = ~known.settle(view, self._aim)
            cells, view, known = cells.of(left), view.of(left), known.of(left)
        ties, done = self._asked(body, view, known)
        return _cut(cells.of(~done), view.of(~done), ties.of(~done), self._clear)

    def _asked(self, body: _Body, view: Seen, known: _Ties | None) -> tuple[_Ties, Bools]:
        """The ties at the middles of cells, and which cells they settle."""
        done = np.zeros(len(view.rotations), dtype=bool)
        ties = _Ties.none(len(done))
        asked = np.arange(len(done))
        for points in body.tiers:
            if not len(asked):
                break
            some = view.of(asked)
            held = hold(points, some.rotations)
            self.effort -= len(points) * len(asked)
            if points is body.tiers[-1]:
                self._try(body, some.rotations[held.gauge.argmin()], float(held.gauge.min()))
            fresh = _Ties.of_held(held)
            settled = fresh.settle(some, self._aim)
            if known:
                settled |= fresh.mixed(known.of(asked), some).settle(some, self._aim)
            ties.put(asked, fresh)
            done[asked[settled]] = True
            near = np.where(some.wide, held.wall, held.gauge) < self._clear
            asked = asked[~settled & near]
        return ties, done


@dataclass(slots=True)
class _Ties:
    """What bounds the gauge in cells: ties that hold there (b, 3, 3), those of the wall alone, and both gauges (b)."""

    whole: Floats
    wall: Floats
    gauge: Floats
    wall_gauge: Floats

    @classmethod
    def none(cls, count: int) -> _Ties:
        return cls(np.zeros((count, 3, 3)), np.zeros((count, 3, 3)), np.zeros(count), np.zeros(count))

    @classmethod
    def of_held(cls, held: Held) -> _Ties:
        return cls(held.ties, held.wall_ties, held.gauge, held.wall)

    def of(self, which: Bools | Indices) -> _Ties:
        return _Ties(self.whole[which], self.wall[which], self.gauge[which], self.wall_gauge[which])

    def put(self, where: Indices, other: _Ties) -> None:
        self.whole[where], self.wall[where] = other.whole, other.wall
        self.gauge[where], self.wall_gauge[where] = other.gauge, other.wall_gauge

    def settle(self, view: Seen, aim: float) -> Bools:
        """Which cells they hold at or above `aim`: by the wall for all spins, or for the cell's own."""
        by_wall = surely_above(self.wall, view.rotations, view.level, aim)
        return np.asarray(by_wall | (~view.wide & surely_above(self.whole, view.rotations, view.turns, aim)))

    def mixed(self, others: _Ties, view: Seen) -> _Ties:
        """Mixtures with others that lean less: on a ridge, a bound from either side of it."""
        whole = balanced(self.whole, others.whole, view.rotations)
        return _Ties(whole, balanced(self.wall, others.wall, view.rotations), self.gauge, self.wall_gauge)

    def least(self, view: Seen) -> Floats:
        """What the gauge in a cell is not below."""
        by_wall = least_of(self.wall, view.rotations, view.level)
        by_all = least_of(self.whole, view.rotations, view.turns)
        return np.maximum(by_wall, np.where(view.wide, 0, by_all))


def _cut(cells: Cells, view: Seen, ties: _Ties, clear: float) -> tuple[Cells, _Ties]:
    """Smaller cells, with their parents' ties: cut by direction where that leans more, else by spin.

    Cells of all spins stay so while the wall alone may settle them.
    """
    lean = levers(ties.whole @ view.rotations.transpose(0, 2, 1))
    by_level = np.abs(np.einsum("bck,bk->bc", view.level, lean)).max(axis=1)
    by_level += (view.level**2).sum(axis=-1).max(axis=1) * ties.gauge
    ends = np.tan(np.minimum(cells.reach, 2) / 2)  # without the twist, which only smaller squares lessen
    by_spin = np.abs(ends * lean[:, 2]) + ends**2 * ties.gauge
    on_wall = ties.gauge <= ties.wall_gauge * (1 + 1e-9)
    quartered = np.where(view.wide, ties.wall_gauge >= clear, (by_level >= by_spin) | on_wall)
    first = np.flatnonzero(view.wide & ~quartered)
    halved = np.flatnonzero(~view.wide & ~quartered)
    quartered = np.flatnonzero(quartered)
    first_spins = spins_of(cells.of(first))
    parts = [cells.of(quartered).quartered(), cells.of(halved).spun(), first_spins]
    each = len(first_spins) // max(1, len(first))
    parents = np.concatenate([np.repeat(quartered, 4), np.repeat(halved, 2), np.repeat(first, each)])
    return Cells.together(parts), ties.of(parents)


def span(hull: Points) -> float:
    """The length of a line that lies in it, near its longest."""
    farthest = hull[np.linalg.norm(hull - hull[0], axis=1).argmax()]
    return float(np.linalg.norm(hull - farthest, axis=1).max())


def _tiers(points: Points) -> list[Points]:
    """Ever more of the points, those outermost in a few directions first; all at last, unless they are many."""
    tiers = [points if len(points) <= _MOST else points[_outermost(points)]]
    for count in reversed(_TIERS):
        parts = np.array_split(_directions(count), 1 + count * len(tiers[0]) // _AT_ONCE)
        some = np.unique(np.concatenate([(part @ tiers[0].T).argmax(axis=1) for part in parts]))
        if len(some) < 0.7 * len(tiers[0]):
            tiers.insert(0, tiers[0][some])
    return tiers


def _outermost(points: Points) -> Indices:
    """The farthest point of each small bundle of directions from the middle, in a space where the body is round."""
    away = points - points.mean(axis=0)
    axes = np.linalg.svd(away[:: len(away) // _MOST + 1], full_matrices=False)[2]
    away = away @ axes.T
    away /= np.maximum(np.abs(away).max(axis=0), 1e-9)
    distance = np.linalg.norm(away, axis=1)
    bundle = np.round(away / np.maximum(distance, 1e-300)[:, None] * _BUNDLES).astype(np.int64)
    order = np.lexsort((-distance, *bundle.T))
    return np.asarray(order[np.diff(bundle[order], axis=0, prepend=-2 * _BUNDLES).any(axis=1)])


def _directions(count: int) -> Floats:
    """Unit vectors (n, 3) on a spiral, evenly spread."""
    step = np.arange(count) + 0.5
    height, turn = 1 - 2 * step / count, np.pi * (1 + 5**0.5) * step
    level = np.sqrt(1 - height**2)
    return np.column_stack([level * np.cos(turn), level * np.sin(turn), height])
