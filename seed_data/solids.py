"""The parts of the demo's devices, as meshes: own designs, for nobody's arm in particular. Lengths are mm.

Each is drawn for a hand 170 mm long, its long axis along z: knuckles and fingertips up, wrist and elbow down. Bores
run across. What a version changed is an argument, so that two versions differ as their words say they do.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from seed_data.meshes import Bore, Points, Solid, lofted, plate, turned

BASE_HAND = 170.0
"""The length of hand the designs are drawn for."""

_FINGER_WIDE, _LUG_WIDE, _KNUCKLES_AT = 14.6, 4.4, 82.0
_AROUND = 24


def palm(*, deep: float = 24.0, pin: float = 3.2, sided: bool = False, mirror: bool = False) -> Solid:
    """A palm: slots for four fingers over one knuckle pin, a wrist pin, a post for the thumb, a pocket for lines.

    With `sided` the post leans to the fingers and the back is arched: the right hand's, mirrored the left's.
    """
    xs = _slots()
    half, breadth = deep / 2, xs[-1]
    floor = -half + 4
    ys = (-half, floor, half)
    zs = (0.0, 16, 24, 44, 64, 72, 90)

    def full(x: float, y: float, z: float) -> bool:
        if x > breadth:
            return 24 < z < 44
        if z > 72 and _in_slot(x):
            return False
        if z < 16 and abs(x) < breadth / 2:
            return False
        return not (24 < z < 64 and abs(x) < breadth - 8 and y > floor)

    def bend(points: Points) -> Points:
        x, y, z = points.T
        narrower = 0.8 + 0.2 * np.clip(z / _KNUCKLES_AT, 0, 1)
        thinner = 1 - 0.22 * np.clip((z - 20) / 70, 0, 1) * (np.abs(z - _KNUCKLES_AT) > 6)
        arched = -0.0022 * x**2 if sided else 0 * x
        post = (x > breadth) * (0.18 * (x - breadth) if sided else 0)
        return np.column_stack((x * narrower, y * thinner + arched + post, z - 0.0016 * x**2 * (z > 60)))

    bores = (Bore(0, 8, 5.2, 6), Bore(0, _KNUCKLES_AT, pin, 6))
    made = plate(ys, zs, [*xs, breadth + 13], bores=bores, full=full).bent(bend)
    return made.mirrored() if mirror else made


def finger(
    *, long: float = 68.0, pin: float = 3.2, line: float = 2.0, thick: float = 14.0, bend: float = 0.18
) -> Solid:
    """A finger in one piece: a capsule bent to the palm, a hinge bore at its root, a line's hole through its tip."""
    return _phalanx(long, pin, line, thick, bend)


def jointed_finger(*, long: float = 72.0, pin: float = 3.2, line: float = 2.2, thick: float = 14.0) -> Solid:
    """A finger in two pieces, side by side as they are printed; the first has a bore at both ends."""
    near = _phalanx(long * 0.56, pin, pin, thick, 0.04)
    far = _phalanx(long * 0.5, pin, line, thick * 0.94, 0.22)
    return near.moved(x=-11).beside(far.moved(x=11))


def thumb(*, long: float = 52.0, pin: float = 3.2, line: float = 2.0, thick: float = 16.0) -> Solid:
    """A thumb: shorter and stouter than a finger."""
    return _phalanx(long, pin, line, thick, 0.1)


def coupling(*, neck: float = 15.0, bore: float = 12.0, notches: int = 3) -> Solid:
    """A wrist coupling: a flange that turns in the socket's end, a neck, and a collar with notches for the palm."""
    rs = (bore / 2, (bore / 2 + neck) / 2, neck, 24.0)
    every = 360 / notches

    def full(r: float, angle: float, z: float) -> bool:
        if z > 22:
            return r < neck or angle % every > 36
        return r < neck or z < 5

    return turned(rs, (0, 2.5, 5, 13.5, 22, 25, 30), 30, full=full)


def cover(*, long: float = 120.0, wide: float = 33.0, wall: float = 2.4, degrees: float = 230.0) -> Solid:
    """A cover for the forearm: a shell open along the inner side, narrower at the wrist."""

    def taper(points: Points) -> Points:
        share = 1 - 0.3 * points[:, 2] / long
        return np.column_stack((points[:, 0] * share * 1.08, points[:, 1] * share, points[:, 2]))

    start = -degrees / 2
    zs = np.linspace(0, long, 13)
    slots = ((28, 48), (70, 90))

    def full(_: float, angle: float, z: float) -> bool:
        return not any(low < z < high and abs(abs(angle) - degrees * 0.42) < 6 for low, high in slots)

    return turned((wide - wall, wide), list(zs), 28, degrees=(start, -start), full=full).bent(taper)


def tool_holder(*, holds: float = 22.0, deep: float = 38.0, slit: float = 24.0) -> Solid:
    """A cup for a handle, slit so that a strap can close it, over a foot with a bolt's bore."""
    inner, outer = holds / 2, holds / 2 + 4

    def full(r: float, angle: float, z: float) -> bool:
        if z < 8:
            return True
        return r > inner and not (z > 12 and (angle < slit or angle > 360 - slit))

    return turned((2.6, inner, outer), (0, 4, 8, 12, 12 + deep / 2, 12 + deep), 30, full=full)


def paw(*, long: float = 62.0, wide: float = 46.0, wall: float = 5.0) -> Solid:
    """A soft mitten for a first device: a hollow drop, open at the wrist, flatter than it is wide."""
    stations = np.array((0.0, 0.1, 0.28, 0.48, 0.66, 0.8, 0.91, 0.98))
    swell = 0.62 + 0.38 * np.sin(np.pi * np.clip(stations, 0, 0.62) / 1.24)
    close = np.sqrt(np.clip(1 - np.clip((stations - 0.5) / 0.5, 0, 1) ** 2, 0.02, 1))
    outer = [
        _oval(z * long, wide / 2 * s * c, wide / 2 * s * c * 0.72)
        for z, s, c in zip(stations, swell, close, strict=True)
    ]
    inner = [_oval(z, 9 - 0.02 * z, 6 - 0.02 * z) for z in (0.0, 8, 16, long * 0.42)]
    return shell(inner, outer, blind=long * 0.42, tip=long, wall=wall)


def fingertip(*, inside: float = 15.0, long: float = 46.0, wall: float = 2.4, sleeve: float = 0.55) -> Solid:
    """A tip for a finger that ends early: a sleeve over what is there, and a solid end beyond it."""
    depth = long * sleeve
    inner = [_oval(z, (inside - 0.06 * z) / 2, (inside - 0.06 * z) / 2.2) for z in np.linspace(0, depth, 5)]
    outside = inside + 2 * wall
    shares = (0.0, 0.2, 0.4, 0.6, 0.75, 0.87, 0.95, 0.99)
    outer = [_oval(s * long, outside / 2 * _blunt(s), outside / 2.2 * _blunt(s)) for s in shares]
    return shell(inner, outer, blind=depth + 1.5, tip=long, wall=wall)


def shell(inner: list[Points], outer: list[Points], *, blind: float, tip: float, wall: float) -> Solid:
    """A cup: its inside closed `blind` mm up the axis, its outside at `tip`, joined by a rim where both begin.

    Raises ValueError when the ends leave less than the wall between them.
    """
    if tip - blind < wall - 1e-9:
        raise ValueError(f"{tip - blind:.1f} mm at the end of a cup with a wall of {wall:.1f} mm")
    down = inner[::-1]
    return lofted([*down, *outer], start=np.array((0, 0, blind)), end=np.array((0, 0, tip))).bent(lambda points: points)


def _slots() -> list[float]:
    """Where lugs and fingers begin and end, from one edge of the palm to the other."""
    xs = [0.0]
    for number in range(9):
        xs.append(xs[-1] + (_FINGER_WIDE if number % 2 else _LUG_WIDE))
    middle = xs[-1] / 2
    return [x - middle for x in xs]


def _in_slot(x: float) -> bool:
    return any(low < x < high for number, (low, high) in enumerate(pairwise(_slots())) if number % 2)


def _phalanx(long: float, pin: float, line: float, thick: float, bend: float) -> Solid:
    """A capsule with a bore near each end, round in section and bent towards y."""
    half, wide = thick / 2, 13.4 / 2
    room = half - 2.2
    zs = (0.0, *np.linspace(2 * room + 4, long - 2 * room - 3, 4), long)
    bores = (Bore(0, room + 2, pin, room), Bore(0, long - room - 1.5, line, room))
    raw = plate((-half, half), zs, (-wide, -wide / 2, 0, wide / 2, wide), bores=bores)

    def shape(points: Points) -> Points:
        x, y, z = points.T
        # Square to round: the middle of each side stays where it is, so bores keep their size there.
        u, v = x / wide, y / half
        x, y = x * np.sqrt(1 - 0.38 * v**2), y * np.sqrt(1 - 0.38 * u**2)
        share = np.clip(np.minimum(z, long - z) / (half * 0.9), 0, 1)
        rounded = 0.55 + 0.45 * np.sqrt(1 - (1 - share) ** 2)
        slimmer = 1 - 0.14 * z / long
        return np.column_stack((x * rounded * slimmer, y * rounded * slimmer + bend * z**2 / long, z))

    return raw.bent(shape)


def _oval(z: float, a: float, b: float) -> Points:
    turns = np.arange(_AROUND) * 2 * np.pi / _AROUND
    return np.column_stack((a * np.cos(turns), b * np.sin(turns), np.full(_AROUND, z)))


def _blunt(share: float) -> float:
    return float(np.sqrt(1 - max(0.0, (share - 0.55) / 0.45) ** 2))
