"""The shapes a device is drawn from, as data: outlines, creases and where the words stand. Pure; for a left device.

Positions are units of the drawing. A shape is a path that can be touched; those that lie along the forearm are laid one
under the other, so each is made at the height where the one before it ends.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, radians, sin

WIDTH = 300.0
MIDDLE = 142.0
"""Where the axis of the forearm lies, across."""

KNUCKLES, PALM_ENDS = 192.0, 338.0
TAG_HEIGHT = 52.0
_TAG_WIDTH = 144.0


@dataclass(frozen=True, slots=True)
class Shape:
    """A part's shape: its outline, what is drawn on it, the middle of its words, where it begins and where it ends."""

    key: str
    outline: str
    creases: tuple[str, ...]
    x: float
    y: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class _Finger:
    x: float
    y: float
    turned: float  # degrees, clockwise from upright
    length: float
    wide: float = 63.0
    narrow: float = 45.0


_HAND = {
    "little": _Finger(58, 210, -21, 106),
    "ring": _Finger(107, 194, -7.5, 130),
    "middle": _Finger(157, 188, 5, 142),
    "index": _Finger(206, 196, 18, 130),
    "thumb": _Finger(214, 286, 47, 112, 60, 50),
}
FINGERS = ("little", "ring", "middle", "index")


def digit(key: str) -> Shape:
    """A digit: narrow at the knuckle, wide and round at the tip, with a hinge on it."""
    at = _HAND[key]
    half, radius = at.narrow / 2, at.wide / 2
    top, joint = radius - at.length, -at.length * 0.3

    def place(across: float, along: float) -> str:
        return "{:g} {:g}".format(*_turned(at, across, along))

    outline = (
        f"M{place(-half, 0)}L{place(-radius, top)}A{radius:g} {radius:g} 0 0 1 {place(radius, top)}"
        f"L{place(half, 0)}Q{place(0, 9)} {place(-half, 0)}Z"
    )
    hinge = f"M{place(-half, joint)}Q{place(0, joint + 7)} {place(half, joint)}"
    x, y = _turned(at, 0, top)
    return Shape(key, outline, (hinge,), x, y, y - radius, at.y)


def palm() -> Shape:
    """The palm, its knuckles following the fingers."""
    outline = (
        "M38 232Q36 219 47 216Q74 210 86 203Q110 197 133 195Q158 191 181 197Q205 203 222 208Q231 211 231 222L229 250"
        "Q226 268 221 282Q214 314 200 328Q193 338 182 338L102 338Q88 338 82 328Q46 290 38 232Z"
    )
    return Shape(
        "palm", outline, ("M76 250Q122 236 190 244", "M188 322Q164 302 172 272"), 132, 286, KNUCKLES, PALM_ENDS
    )


def wrist_coupling(top: float) -> Shape:
    """A ring that turns and lets go, with the two lugs that hold it."""
    outline = _box(MIDDLE - 80, top, 160, 48, 10)
    lugs = tuple(f"M{MIDDLE + side:g} {top + 6:g}v36" for side in (-71, 71))
    return Shape("wrist_coupling", outline, lugs, MIDDLE, top + 24, top, top + 48)


def terminal_device(top: float) -> Shape:
    """Two jaws that close on each other, on a broad base."""
    x, y = MIDDLE, top
    outline = (
        f"M{x - 62:g} {y + 152:g}L{x - 62:g} {y + 108:g}Q{x - 82:g} {y + 62:g} {x - 40:g} {y + 8:g}"
        f"Q{x - 26:g} {y - 4:g} {x - 14:g} {y + 8:g}Q{x - 36:g} {y + 44:g} {x - 24:g} {y + 78:g}"
        f"L{x + 24:g} {y + 78:g}Q{x + 36:g} {y + 44:g} {x + 14:g} {y + 8:g}Q{x + 26:g} {y - 4:g} {x + 40:g} {y + 8:g}"
        f"Q{x + 82:g} {y + 62:g} {x + 62:g} {y + 108:g}L{x + 62:g} {y + 152:g}Z"
    )
    crease = f"M{x - 62:g} {y + 142:g}h124"
    return Shape("terminal_device", outline, (crease,), x, y + 116, y, y + 152)


def tool_holder(top: float) -> Shape:
    """A clamp for the handle of a tool, with its screw, on a block."""
    x, y = MIDDLE, top
    outline = f"M{x - 58:g} {y + 134:g}v-40q0 -8 8 -8h20A44 44 0 1 1 {x + 30:g} {y + 86:g}h20q8 0 8 8v40Z"
    hole = f"M{x - 22:g} {y + 54:g}a22 22 0 1 0 44 0a22 22 0 1 0 -44 0"
    slit = f"M{x - 5:g} {y + 32:g}V{y + 11:g}M{x + 5:g} {y + 32:g}V{y + 11:g}"
    screw = f"M{x - 28:g} {y + 21:g}h-16m0 -8v16M{x + 28:g} {y + 21:g}h12"
    return Shape("tool_holder", outline, (hole, slit, screw), x, y + 112, y, y + 134)


def forearm(top: float) -> Shape:
    """A cover of the forearm."""
    outline = f"M{MIDDLE - 66:g} {top:g}h132l10 84h-152Z"
    slots = tuple(f"M{MIDDLE + side:g} {top + 14:g}v54" for side in (-44, 44))
    return Shape("forearm", outline, slots, MIDDLE, top + 42, top, top + 84)


def socket(top: float) -> Shape:
    """A socket, closed towards the hand and open where the limb goes in."""
    y = top
    outline = (
        f"M{MIDDLE - 62:g} {y + 20:g}Q{MIDDLE - 60:g} {y:g} {MIDDLE - 40:g} {y:g}L{MIDDLE + 40:g} {y:g}"
        f"Q{MIDDLE + 60:g} {y:g} {MIDDLE + 62:g} {y + 20:g}L{MIDDLE + 84:g} {y + 132:g}"
        f"A84 16 0 0 1 {MIDDLE - 84:g} {y + 132:g}Z"
    )
    rim = f"M{MIDDLE - 84:g} {y + 132:g}A84 16 0 0 1 {MIDDLE + 84:g} {y + 132:g}"
    return Shape("socket", outline, (rim,), MIDDLE, y + 70, y, y + 148)


def liner(top: float) -> Shape:
    """The edge of a liner that looks out of the socket."""
    y = top
    outline = (
        f"M{MIDDLE - 76:g} {y + 4:g}A76 14 0 0 0 {MIDDLE + 76:g} {y + 4:g}L{MIDDLE + 80:g} {y + 52:g}"
        f"A80 14 0 0 1 {MIDDLE - 80:g} {y + 52:g}Z"
    )
    rib = f"M{MIDDLE - 78:g} {y + 58:g}A78 12 0 0 0 {MIDDLE + 78:g} {y + 58:g}"
    return Shape("liner", outline, (rib,), MIDDLE, y + 38, y, y + 66)


def harness(top: float) -> Shape:
    """A band that goes around the shoulder: a long ring with a buckle."""
    y = top
    outline = _box(MIDDLE - 104, y, 208, 62, 31)
    ring = _box(MIDDLE - 88, y + 13, 176, 36, 18)
    return Shape("harness", outline, (ring, _box(MIDDLE + 70, y + 7, 12, 48, 3)), MIDDLE - 10, y + 31, y, y + 62)


ALONG: dict[str, Callable[[float], Shape]] = {
    "terminal_device": terminal_device,
    "tool_holder": tool_holder,
    "wrist_coupling": wrist_coupling,
    "forearm": forearm,
    "socket": socket,
    "liner": liner,
    "harness": harness,
}
"""What lies along the axis of the forearm, from the hand on."""


def tag(key: str, top: float, column: int) -> Shape:
    """A tied-on label, for what lies inside or has no place of its own."""
    x = 4 + column * (_TAG_WIDTH + 4)
    outline = (
        f"M{x + 16:g} {top:g}H{x + _TAG_WIDTH - 6:g}q6 0 6 6v{TAG_HEIGHT - 12:g}q0 6 -6 6H{x + 16:g}"
        f"L{x:g} {top + TAG_HEIGHT - 15:g}V{top + 15:g}Z"
    )
    hole = f"M{x + 10:g} {top + TAG_HEIGHT / 2:g}a4 4 0 1 0 8 0a4 4 0 1 0 -8 0"
    middle = x + (_TAG_WIDTH + 14) / 2
    return Shape(key, outline, (hole,), middle, top + TAG_HEIGHT / 2, top, top + TAG_HEIGHT)


def _turned(at: _Finger, across: float, along: float) -> tuple[float, float]:
    turn = radians(at.turned)
    x = at.x + across * cos(turn) - along * sin(turn)
    y = at.y + across * sin(turn) + along * cos(turn)
    return round(x, 1), round(y, 1)


def _box(x: float, y: float, width: float, height: float, corner: float) -> str:
    c, right, down = corner, width - 2 * corner, height - 2 * corner
    return (
        f"M{x + c:g} {y:g}h{right:g}a{c:g} {c:g} 0 0 1 {c:g} {c:g}v{down:g}a{c:g} {c:g} 0 0 1 -{c:g} {c:g}"
        f"h-{right:g}a{c:g} {c:g} 0 0 1 -{c:g} -{c:g}v-{down:g}a{c:g} {c:g} 0 0 1 {c:g} -{c:g}Z"
    )
