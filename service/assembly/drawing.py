"""The drawing of a device from the parts in place in it: which shapes there are, and how each is drawn. Pure.

It is the back of a hand as its wearer sees it, fingers up, with what holds it on below; not to scale. Every part is a
shape of its own, big enough for a fingertip on a small phone. A right device is the mirror image of a left one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from service.assembly.rules import area_key
from service.assembly.shapes import ALONG, FINGERS, PALM_ENDS, TAG_HEIGHT, WIDTH, Shape, digit, palm, tag
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Level, Side

_GAP = 8.0
_EDGE = 4.0
_LETTER = 6.8
"""About how wide a letter is."""

_DIGITS = (*FINGERS, "thumb")
_HANDS = (Level.METACARPAL, Level.CARPAL)

State = Literal["there", "missing", "ghost"]
"""In place; not in place though such a device has one; or drawn only to show where the others are."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A part in place as it is drawn: `word` says why it should be looked at, and is empty if it need not be."""

    kind: PartKind
    digit: Digit | None = None
    word: str = ""


@dataclass(frozen=True, slots=True)
class Area:
    """A shape: `key` is a word of its own, `name` says what it is, `label` stands on it at `x`, `y`, with `word` below.

    `outline` is what can be touched; `creases` are drawn on it. Words are never mirrored, so `x` is where they are, and
    `flag` where the sign is that goes with a word.
    """

    key: str
    name: str
    state: State
    outline: str
    creases: tuple[str, ...]
    label: str
    word: str
    x: float
    y: float
    flag: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A device drawn, `width` by `height` units, from `top` down."""

    width: float
    top: float
    height: float
    side: Side
    areas: tuple[Area, ...]

    @property
    def mirrored(self) -> bool:
        """Whether the shapes are to be turned over from left to right."""
        return self.side is Side.RIGHT

    @property
    def there(self) -> tuple[str, ...]:
        """What is in place, in words."""
        return tuple(each.name for each in self.areas if each.state == "there")

    @property
    def missing(self) -> tuple[str, ...]:
        """What such a device has and this one lacks, in words."""
        return tuple(each.name for each in self.areas if each.state == "missing")


def drawing(parts: Iterable[Seen], side: Side, ends_at: Level | None = None) -> Drawing:
    """Draw the parts in place in a device worn on a side, by a limb that ends at a level (None if nobody said)."""
    found: defaultdict[str, list[Seen]] = defaultdict(list)
    for each in parts:
        found[area_key(each.kind, each.digit)].append(each)
    states: dict[str, State] = {**_lacking(found.keys(), ends_at), **dict.fromkeys(found, "there")}
    shapes = _laid_out(states)
    areas = tuple(_area(shape, states[shape.key], found[shape.key], side) for shape in shapes)
    top = min((shape.top for shape in shapes), default=0.0) - _EDGE
    bottom = max((shape.bottom for shape in shapes), default=0.0) + _EDGE
    return Drawing(WIDTH, round(top, 1), round(bottom - top, 1), side, areas)


def _lacking(there: Iterable[str], ends_at: Level | None) -> dict[str, State]:
    """What is not in place and drawn all the same: what such a device lacks, and a hand around fingers of its own."""
    keys = set(there)
    holds_something_else = not keys.isdisjoint({"terminal_device", "tool_holder"})
    has_digits = not keys.isdisjoint(_DIGITS)
    if ends_at is Level.PHALANGEAL:
        return dict.fromkeys(("palm", *_DIGITS), "ghost")
    if keys and not has_digits and ("palm" in keys or holds_something_else):
        hand: tuple[str, ...] = ()
    else:
        hand = ("palm", *_DIGITS)
    if ends_at in _HANDS:
        return dict.fromkeys(hand, "missing")
    return dict.fromkeys((*hand, "wrist_coupling", "socket"), "missing")


def _laid_out(states: dict[str, State]) -> list[Shape]:
    shapes, bottom = [], _EDGE - _GAP
    if not states.keys().isdisjoint({"palm", *_DIGITS}):
        shapes = [digit(key) for key in _DIGITS if key in states] + ([palm()] if "palm" in states else [])
        bottom = PALM_ENDS
    for key, made in ALONG.items():
        # A tool is not held by a hand that is there already: it is tied on like all else that has no place.
        if key in states and not (shapes and bottom == PALM_ENDS and key in {"terminal_device", "tool_holder"}):
            shapes.append(made(bottom + _GAP))
            bottom = shapes[-1].bottom
    drawn = {shape.key for shape in shapes}
    tied_on = [key for key in states if key not in drawn]
    top = bottom + 3 * _GAP
    return shapes + [
        tag(key, top + (number // 2) * (TAG_HEIGHT + _GAP), number % 2) for number, key in enumerate(tied_on)
    ]


def _area(shape: Shape, state: State, parts: Sequence[Seen], side: Side) -> Area:
    label, many = shape.key.replace("_", " "), f" ({len(parts)})" if len(parts) > 1 else ""
    name = f"{label} finger" if shape.key in FINGERS else label
    words = [each.word for each in parts if each.word]
    x = round(WIDTH - shape.x if side is Side.RIGHT else shape.x, 1)
    beside = max(48.0, _LETTER / 2 * len(f"{label}{many}") + 12)
    return Area(
        key=shape.key,
        name=f"{name}{many}",
        state=state,
        outline=shape.outline,
        creases=shape.creases if state == "there" else (),
        label="" if state == "ghost" else f"{label}{many}",
        word=words[0] if words else "",
        x=x,
        y=shape.y,
        flag=(x, shape.y - 23) if shape.key in _DIGITS else (x - beside, shape.y),
    )
