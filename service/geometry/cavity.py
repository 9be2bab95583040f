"""How large the small-parts cylinder has to be for a body held in some way. Lengths are mm.

The cavity C (16 CFR 1501.4) is a right cylinder of radius R about z, open at z = 0, with a plane floor that slopes from
SHALLOW below the rim to DEEP across the bore:

    C = {x^2 + y^2 <= R^2,   z <= 0,   x + z >= -H},      H = (SHALLOW + DEEP) / 2,

the slope being DEEP - SHALLOW over 2 R, which is 1. C is convex, and whatever lies in it can be lifted out.

The *gauge* of a body K turned by Q is the factor by which C must grow to take it, wherever it is put:

    g(Q) = min over c of  max( max_i |(x_i, y_i) - c| / R,   (c_x + h) / H ),      h = max z_i - min (x_i + z_i)

over the points (x_i, y_i, z_i) of QK: it is pushed up to the rim, and c is where the bore's middle comes to lie. So K
goes in at a scale s, turned by Q, if and only if s g(Q) <= 1.

That minimum rests on at most three points beside the wall, or on two and the pair that touches rim and floor. Each is a
*tie* u . (Q p) with weights such that the u sum to 0 and the constants to 1. For every other rotation the ties add up
to no more than its gauge (weak duality), so that with M = sum u p^T

    g(Q') >= tr(M^T Q')      for every rotation Q',     with equality at Q.

This is what bounds whole neighbourhoods of rotations in `turning.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np

from service.geometry.arrays import Floats, Indices
from service.geometry.mesh import Points

INCH = 25.4
BORE_MM, SHALLOW_MM, DEEP_MM = 1.25 * INCH, 1.00 * INCH, 2.25 * INCH  # 16 CFR 1501.4, figure 1
RADIUS = BORE_MM / 2
FLOOR = (SHALLOW_MM + DEEP_MM) / 2
LONGEST_MM = float(np.hypot(BORE_MM, DEEP_MM))  # the longest line that goes in: from the rim to the deepest point


_RATIO = RADIUS / FLOOR
_HAIR = 1e-10  # relative; far below what a print can show
_SLIM = 1e-9  # of directions that lie so nearly in line, fewer make as good a bound
_MOST_PIVOTS = 60
_AT_ONCE = 1_500_000  # points placed at a time: some 50 MB


@dataclass(frozen=True, slots=True)
class Held:
    """What holds a body at each of b rotations: gauges (b), and the matrices M (b, 3, 3) that bound every gauge.

    `gauge` counts every point given, with the bore's middle at `middle` (b, 2); `ties` are its M. `wall` and
    `wall_ties` are the same if the wall alone held it, so that they hold for every spin about the bore.
    """

    gauge: Floats
    middle: Floats
    ties: Floats
    wall: Floats
    wall_ties: Floats


def hold(points: Points, rotations: Floats) -> Held:
    """The gauge of a body, the hull of points (n, 3), at each rotation (b, 3, 3)."""
    parts = len(points) * len(rotations) // _AT_ONCE + 1
    held = [_hold(points, some) for some in np.array_split(rotations, parts)]
    return Held(*(np.concatenate([getattr(each, one.name) for each in held]) for one in fields(Held)))


def _hold(points: Points, rotations: Floats) -> Held:
    x, y, z = (rotations[:, row] @ points.T for row in range(3))
    rim, floor = z.argmax(axis=1), (x + z).argmin(axis=1)
    rows = np.arange(len(rotations))
    drop = z[rows, rim] - (x + z)[rows, floor]
    wall = _smallest_circle(x, y)
    wall_ties = _wall_ties(_points(x, y, wall.basis) - wall.centre[:, None], points[wall.basis])
    middle, ties = wall.centre.copy(), wall_ties.copy()
    pressed = (middle[:, 0] + drop) * _RATIO > wall.radius * (1 + _HAIR)
    lean = _least_lean(x[pressed], y[pressed], drop[pressed])
    middle[pressed] = lean.centre
    at_wall = _points(x[pressed], y[pressed], lean.basis) - lean.centre[:, None]
    ties[pressed] = _floor_ties(at_wall, points[lean.basis], points[rim[pressed]], points[floor[pressed]])
    gauge = np.maximum(_farthest(x, y, middle) / RADIUS, (middle[:, 0] + drop) / FLOOR)
    return Held(gauge, middle, ties, _farthest(x, y, wall.centre) / RADIUS, wall_ties)


class _Circles(NamedTuple):
    """Centres (b, 2), radii (b) and the points they rest on (b, 3), the first repeated when there are two."""

    centre: Floats
    radius: Floats
    basis: Indices


class _Leans(NamedTuple):
    """Where the bore's middle lies (b, 2) and the points that touch its wall (b, 2), one repeated if it is alone."""

    centre: Floats
    basis: Indices


def _smallest_circle(x: Floats, y: Floats) -> _Circles:
    """The smallest circle around each row of points, grown from two of them by the one farthest outside."""
    first, second = x.argmin(axis=1), x.argmax(axis=1)
    basis = np.column_stack([first, second, first])
    centre = _circles(*(_points(x, y, basis[:, [k]]) for k in (0, 1)))[0][:, 0]
    radius = np.hypot(*(_points(x, y, first[:, None])[:, 0] - centre).T)
    left = np.arange(len(x))
    for _ in range(_MOST_PIVOTS):
        squares = _square_of_distance(x[left], y[left], centre[left])
        farthest = squares.argmax(axis=1)
        outside = squares[np.arange(len(left)), farthest] > (radius[left] * (1 + _HAIR)) ** 2 + 1e-18
        left, farthest = left[outside], farthest[outside]
        if not len(left):
            break
        found = _pivot_circle(x[left], y[left], np.column_stack([farthest, basis[left]]))
        grown = found.radius > radius[left]
        left = left[grown]  # rounding may stall it; then what it rests on still bounds it
        centre[left], radius[left], basis[left] = (each[grown] for each in found)
    return _Circles(centre, radius, basis)


_PAIRS = np.array([(0, 1, 0), (0, 2, 0), (0, 3, 0)])
_THREES = np.array([(0, 1, 2), (0, 1, 3), (0, 2, 3)])


def _pivot_circle(x: Floats, y: Floats, four: Indices) -> _Circles:
    """The smallest circle around four points (b, 4), the first of which is on it."""
    points = _points(x, y, four)
    by_two = _circles(points[:, _PAIRS[:, 0]], points[:, _PAIRS[:, 1]])
    by_three = _circumcircles(*(points[:, _THREES[:, k]] for k in range(3)))
    centre, square = (np.concatenate(pair, axis=1) for pair in zip(by_two, by_three, strict=True))
    away = ((points[:, None] - centre[:, :, None]) ** 2).sum(axis=-1).max(axis=2)
    holds = away <= square * (1 + 1e-9)
    best = np.where(holds, square, np.inf).argmin(axis=1)
    rows = np.arange(len(x))
    radius = np.where(holds.any(axis=1), np.sqrt(square[rows, best]), 0.0)
    return _Circles(centre[rows, best], radius, np.take_along_axis(four, np.vstack([_PAIRS, _THREES])[best], 1))


def _circles(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Centres and squared radii of the circles on which two points lie opposite."""
    return (a + b) / 2, ((a - b) ** 2).sum(axis=-1) / 4


def _circumcircles(a: Floats, b: Floats, c: Floats) -> tuple[Floats, Floats]:
    """Centres and squared radii of the circles through three points; infinite when they are in line."""
    b, c = b - a, c - a
    twice = 2 * (b[..., 0] * c[..., 1] - b[..., 1] * c[..., 0])
    bb, cc = (b**2).sum(axis=-1), (c**2).sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        from_a = (
            np.stack([c[..., 1] * bb - b[..., 1] * cc, b[..., 0] * cc - c[..., 0] * bb], axis=-1) / twice[..., None]
        )
    square = (from_a**2).sum(axis=-1)
    usable = np.isfinite(square)
    return np.where(usable[..., None], a + from_a, a), np.where(usable, square, np.inf)


def _least_lean(x: Floats, y: Floats, drop: Floats) -> _Leans:
    """Where the middle lies when the floor presses the body: as far to the shallow side as the wall lets it.

    With g = (c_x + h) / H, each point must be within g R of c: an ellipse of which the point is a focus. What is sought
    is the point of all these ellipses with the least c_x; it rests on one or two of them.
    """
    first = x.argmax(axis=1)
    basis = np.column_stack([first, first])
    centre = _alone(_points(x, y, first[:, None]), drop[:, None])[:, 0]
    left = np.arange(len(x))
    for _ in range(_MOST_PIVOTS):
        squares = _square_of_distance(x[left], y[left], centre[left])
        farthest = squares.argmax(axis=1)
        room = _RATIO * (centre[left, 0] + drop[left])
        outside = squares[np.arange(len(left)), farthest] > (room * (1 + _HAIR)) ** 2 + 1e-18
        left, farthest = left[outside], farthest[outside]
        if not len(left):
            break
        found = _pivot_lean(x[left], y[left], drop[left], np.column_stack([farthest, basis[left]]))
        grown = found.centre[:, 0] > centre[left, 0]
        left = left[grown]
        centre[left], basis[left] = (each[grown] for each in found)
    return _Leans(centre, basis)


_LEANS = np.array([(0, 0), (0, 1), (0, 2)])


def _pivot_lean(x: Floats, y: Floats, drop: Floats, three: Indices) -> _Leans:
    """The same for three points (b, 3), the first of which touches the wall."""
    points = _points(x, y, three)
    alone = _alone(points[:, :1], drop[:, None])
    paired = _paired(points[:, [0, 0]], points[:, 1:], drop[:, None])
    centre = np.concatenate([alone, paired], axis=1)
    away = ((points[:, None] - centre[:, :, None]) ** 2).sum(axis=-1).max(axis=2)
    room = np.maximum(_RATIO * (centre[..., 0] + drop[:, None]), 0.0)
    holds = np.isfinite(away) & (away <= room**2 * (1 + 1e-9))
    best = np.where(holds, centre[..., 0], np.inf).argmin(axis=1)
    rows = np.arange(len(x))
    chosen = np.where(holds.any(axis=1)[:, None], centre[rows, best], -np.inf)
    return _Leans(chosen, np.take_along_axis(three, _LEANS[best], 1))


def _alone(points: Floats, drop: Floats) -> Floats:
    """The middle when one point touches the wall: straight towards the shallow side of it."""
    return np.stack([(points[..., 0] - _RATIO * drop) / (1 + _RATIO), points[..., 1]], axis=-1)


def _paired(a: Floats, b: Floats, drop: Floats) -> Floats:
    """The middle when two points touch the wall: on the line midway between them; not a number where there is none."""
    half = (b - a) / 2
    length = np.hypot(half[..., 0], half[..., 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        along = np.stack([-half[..., 1], half[..., 0]], axis=-1) / length[..., None]
        fall = (a[..., 0] + b[..., 0]) / 2 + drop
        square = _RATIO**2
        lead = 1 - square * along[..., 0] ** 2
        middle = square * along[..., 0] * fall
        spread = np.sqrt(middle**2 - lead * (length**2 - square * fall**2))
        steps = (middle - np.sign(along[..., 0]) * spread) / lead
    return np.asarray((a + b) / 2 + steps[..., None] * along)


def _wall_ties(outward: Floats, points: Floats) -> Floats:
    """M of bodies that only the wall holds: three points (b, 3, 3) and where they lie about the middle (b, 3, 2).

    The weights w with sum(w_i u_i) = 0 are the middle's coordinates in the triangle of the points. When there are two
    points they lie opposite, and weigh a half each; two opposite directions make a bound whatever they are.
    """
    units = _units(outward)
    a, b, c = units.transpose(1, 0, 2)
    weights = np.stack([_cross(b, c), _cross(c, a), _cross(a, b)], axis=1)
    total = weights.sum(axis=1, keepdims=True)
    weights = weights / np.where(total == 0, 1, total)
    three = (np.abs(total) > _SLIM) & (weights >= 0).all(axis=1, keepdims=True)
    weights = np.where(three, weights, np.array([0.5, 0.5, 0.0]))
    units[:, 1] = np.where(three, b, -a)
    return _ties(units * weights[..., None] / RADIUS, points)


def _floor_ties(outward: Floats, points: Floats, rim: Floats, floor: Floats) -> Floats:
    """M of bodies that wall, rim and floor hold: two points at the wall (b, 2, 3), one at the rim, one at the floor.

    When only one point touches the wall it does so on the deep side; that direction makes a bound whatever it is.
    """
    units = _units(outward)
    turn = _cross(units[:, 0], units[:, 1])
    safe = np.where(np.abs(turn) > _SLIM, turn, 1.0)
    pair = _RATIO * np.column_stack([units[:, 1, 1] / safe, -units[:, 0, 1] / safe])
    two = (np.abs(turn) > _SLIM) & (pair >= 0).all(axis=1)
    weights = np.where(two[:, None], pair, np.array([_RATIO, 0.0]))
    units[:, 0] = np.where(two[:, None], units[:, 0], np.array([1.0, 0.0]))
    pressing = 1 / (1 + weights.sum(axis=1))
    weights = weights * pressing[:, None]
    ties = _ties(units * weights[..., None] / RADIUS, points)
    ties[:, 2] += pressing[:, None] / FLOOR * rim
    ties[:, 2] -= pressing[:, None] / FLOOR * floor
    ties[:, 0] -= pressing[:, None] / FLOOR * floor
    return ties


def _units(outward: Floats) -> Floats:
    length = np.hypot(outward[..., 0], outward[..., 1])
    return np.asarray(outward / np.maximum(length, 1e-300)[..., None])


def _ties(weighted: Floats, points: Floats) -> Floats:
    ties = np.zeros((len(points), 3, 3))
    ties[:, :2] = np.einsum("bki,bkj->bij", weighted, points)
    return ties


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _points(x: Floats, y: Floats, indices: Indices) -> Floats:
    return np.stack([np.take_along_axis(x, indices, 1), np.take_along_axis(y, indices, 1)], axis=-1)


def _farthest(x: Floats, y: Floats, centre: Floats) -> Floats:
    return np.asarray(np.sqrt(_square_of_distance(x, y, centre).max(axis=1)))


def _square_of_distance(x: Floats, y: Floats, centre: Floats) -> Floats:
    return (x - centre[:, :1]) ** 2 + (y - centre[:, 1:]) ** 2
