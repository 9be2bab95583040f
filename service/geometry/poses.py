"""Poses in which a body goes into the small-parts cylinder at a large scale: where to begin, and how to do better.

Whatever is found here is a pose, not a proof that there is no better one; `small_parts.py` looks for that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from service.geometry.arrays import Floats
from service.geometry.cavity import FLOOR, RADIUS, hold
from service.geometry.mesh import Points
from service.geometry.orientations import about_z, all_of_them, seen

_SPINS = 8
_STARTS, _FEWER_STARTS = 5, 2  # the second when there is a pose to beat
_APART = 0.3  # rad between poses that are worth improving both
_FIRST_STEP, _LAST_STEP = 0.25, 1e-6  # rad
_MOST_STEPS = 30
_LOOK_NO_FARTHER = 1.25  # times the best gauge: a pose that much worse is not improved


@dataclass(frozen=True, slots=True)
class Pose:
    """A rotation (3, 3) and the gauge there: the body goes in at a scale of 1 / `gauge`, and every smaller one."""

    rotation: Floats
    gauge: float


def best_pose(points: Points, some: Points, few: Points, known: float = np.inf) -> Pose:
    """The best of several poses of a body, improved as far as they go.

    `some` of its points are those that poses are improved with, `few` those that they are chosen with. Poses far worse
    than a gauge that is `known` already are not improved.
    """
    rotations = _starts(few)
    gauges = hold(few, rotations).gauge
    found: list[Pose] = []
    tried: list[Floats] = []
    most = _STARTS if np.isinf(known) else _FEWER_STARTS
    for index in gauges.argsort():
        rotation = rotations[index]
        best = min([known, *(pose.gauge for pose in found)])
        if len(found) == most or gauges[index] > _LOOK_NO_FARTHER * best:
            break
        if all(np.trace(rotation @ other.T) < 1 + 2 * np.cos(_APART) for other in tried):
            tried.append(rotation)
            found.append(improved(few, rotation, until=1e-4))
    if not found:
        return _at(points, rotations[gauges.argmin()])[0]
    enough = 1.002 * min(pose.gauge for pose in found)
    ends = [better(points, some, pose.rotation) for pose in found if pose.gauge < enough]
    return min(ends, key=lambda pose: pose.gauge)


def better(points: Points, some: Points, rotation: Floats) -> Pose:
    """A pose as good as can be had from here with some points, and what it is with every point counted."""
    return _at(points, improved(some, rotation).rotation)[0]


def improved(points: Points, rotation: Floats, until: float = 1e-8) -> Pose:
    """A pose from which no small turn does better: each step solves the linear problem nearby, and is then tried.

    `until` is how little a step may still gain, as a share.
    """
    pose, middle = _at(points, rotation)
    step = _FIRST_STEP
    for _ in range(_MOST_STEPS):
        turn, promised = _turn(points @ pose.rotation.T, pose.gauge, middle, step)
        if pose.gauge - promised < until * pose.gauge or step < _LAST_STEP:
            break
        other, moved = _at(points, Rotation.from_rotvec(turn).as_matrix() @ pose.rotation)
        gained = pose.gauge - other.gauge
        step *= 1.5 if gained > 0.6 * (pose.gauge - promised) else 0.4
        if gained > 0:
            pose, middle = other, moved
    return pose


def _at(points: Points, rotation: Floats) -> tuple[Pose, Floats]:
    held = hold(points, rotation[None])
    return Pose(rotation, float(held.gauge[0])), held.middle[0]


def _turn(placed: Points, gauge: float, middle: Floats, step: float) -> tuple[Floats, float]:
    """The turn (a vector, no part above `step`) that lowers the gauge most if all moved straight, and to what.

    Unknown are the turn t, the middle c, the heights of rim and floor, and the gauge g:

        u . (p + t x p - c) <= R g,    rim >= z + ...,    floor <= x + z + ...,    rim - floor + c_x <= H g.
    """
    centre = placed.mean(axis=0)
    arms = placed - centre
    moves = 2 * step * float(np.linalg.norm(arms, axis=1).max())
    away = placed[:, :2] - middle
    distance = np.hypot(away[:, 0], away[:, 1])
    x, z = placed[:, 0], placed[:, 2]
    wall, rim = distance > distance.max() - 2 * moves, z > z.max() - 2 * moves
    floor = x + z < (x + z).min() + 3 * moves
    unit = np.zeros((int(wall.sum()), 3))
    unit[:, :2] = away[wall] / np.maximum(distance[wall], 1e-300)[:, None]
    sloping = np.array([1.0, 0.0, 1.0])
    rows = [
        _row(np.cross(arms[wall], unit), -unit[:, :2], (0, 0), -RADIUS),
        _row(np.cross(arms[rim], np.array([0.0, 0.0, 1.0])), (0, 0), (-1, 0), 0),
        _row(-np.cross(arms[floor], sloping), (0, 0), (0, 1), 0),
        _row(np.zeros((1, 3)), (1, 0), (1, -1), -FLOOR),
    ]
    right = [-np.einsum("ij,ij->i", unit[:, :2], placed[wall, :2]), -z[rim], (x + z)[floor], np.zeros(1)]
    free = (None, None)
    solved = linprog(
        [0, 0, 0, 0, 0, 0, 0, 1],
        A_ub=np.vstack(rows),
        b_ub=np.concatenate(right),
        bounds=[(-step, step)] * 3 + [free] * 5,
    )
    if solved.x is None:
        return np.zeros(3), gauge
    return solved.x[:3], float(solved.x[7])


def _row(turn: Floats, middle: Floats | tuple[int, int], heights: tuple[int, int], gauge: float) -> Floats:
    rest = np.broadcast_to(np.array([*heights, gauge], dtype=float), (len(turn), 3))
    return np.hstack([turn, np.broadcast_to(np.asarray(middle, dtype=float), (len(turn), 2)), rest])


def _starts(points: Points) -> Floats:
    """Rotations (b, 3, 3) to begin with: evenly spread ones, and those that set the body's main axes upright."""
    axes = np.linalg.svd(points - points.mean(axis=0), full_matrices=len(points) < 3)[2]
    upright = np.concatenate([np.roll(axes, k, axis=0)[None] for k in range(3)])
    frames = np.concatenate([seen(all_of_them()).rotations, upright, upright * np.array([1, -1, -1])[:, None]])
    spins = about_z(np.arange(_SPINS) * 2 * np.pi / _SPINS)
    turns: Floats = (spins[None] @ frames[:, None]).reshape(-1, 3, 3)
    return turns
