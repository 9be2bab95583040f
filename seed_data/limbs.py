"""Limbs and the sockets made over them, as meshes: slightly oval, tapering tubes with a rounded end. Lengths are mm.

Both are drawn from a profile: girths at levels, counted from the landmark down the limb. The axis is z, and its zero
lies at the first level, so the file begins `profile[0][0]` mm from the landmark. Every ring's corners are as far apart
as a tape around them reads, so what is drawn is the girth that was asked for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from seed_data.meshes import Points, Solid, lofted

_AROUND = 28
_STEP = 10.0  # between rings, about
_ENDING = (0.35, 0.62, 0.84, 0.97)  # of the rounded end, where a ring lies

Profile = Sequence[tuple[float, float]]


def socket(profile: Profile, *, oval: float = 1.12, wall: float = 3.0, ending: float = 12.0) -> Solid:
    """A socket: open at the first level, closed beyond the last one by a rounded end `ending` mm deep."""
    rings = _rings(profile, oval, ending)
    inside = [points for _, points in rings]
    tip = rings[-1][0] + (1 - _ENDING[-1]) * ending
    outside = _outside(rings, tip, wall)
    return lofted([*inside[::-1], *outside], start=_point(tip), end=_point(tip + wall)).bent(_as_it_is)


def limb(profile: Profile, *, oval: float = 1.12, ending: float = 12.0, closed: bool = True) -> Solid:
    """The limb itself: from a cast, closed at the cut too; from a scan, a skin that is open there."""
    rings = _rings(profile, oval, ending)
    tip = _point(rings[-1][0] + (1 - _ENDING[-1]) * ending)
    skin = [_uneven(points) for _, points in rings]
    return lofted(skin, start=_point(0.0) if closed else None, end=tip).bent(_as_it_is)


def _rings(profile: Profile, oval: float, ending: float) -> list[tuple[float, Points]]:
    levels, girths = np.array(profile, dtype=float).T
    zs = levels - levels[0]
    along = np.linspace(0, zs[-1], max(round(zs[-1] / _STEP), 4) + 1)
    found = [(float(z), _ring(float(z), float(np.interp(z, zs, girths)), oval)) for z in along]
    for share in _ENDING:
        z = float(zs[-1] + share * ending)
        found.append((z, _ring(z, float(girths[-1] * np.sqrt(1 - share**2)), oval)))
    return found


def _ring(z: float, girth: float, oval: float) -> Points:
    turns = np.arange(_AROUND) * 2 * np.pi / _AROUND
    points = np.column_stack((oval * np.cos(turns), np.sin(turns) / oval))
    around = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1).sum()
    return np.column_stack((points * girth / around, np.full(_AROUND, z)))


def _outside(rings: Sequence[tuple[float, Points]], tip: float, wall: float) -> list[Points]:
    """The rings one wall further out, square to the surface; at the brim straight out, so that it lies flat."""
    zs = np.array([z for z, _ in rings] + [tip])
    radii = np.array([np.linalg.norm(points[:, :2], axis=1).mean() for _, points in rings] + [0.0])
    leaning = np.arctan(-np.gradient(radii, zs))
    leaning[0] = 0.0
    found = []
    for lean, (z, points) in zip(leaning, rings, strict=False):
        flat = points[:, :2]
        along = np.roll(flat, -1, axis=0) - np.roll(flat, 1, axis=0)
        outwards = np.column_stack((along[:, 1], -along[:, 0]))
        outwards /= np.linalg.norm(outwards, axis=1, keepdims=True)
        height = np.full(_AROUND, z + wall * np.sin(lean))
        found.append(np.column_stack((flat + wall * np.cos(lean) * outwards, height)))
    return found


def _uneven(points: Points) -> Points:
    """Flesh is not turned on a lathe: swells and hollows of a third of a millimetre, the same every time."""
    x, y, z = points.T
    turn = np.arctan2(y, x)
    swell = 1 + 0.008 * np.sin(3 * turn + z / 9) + 0.006 * np.sin(5 * turn - z / 6)
    return np.column_stack((x * swell, y * swell, z))


def _point(z: float) -> Points:
    return np.array((0.0, 0.0, z))


def _as_it_is(points: Points) -> Points:
    return points
