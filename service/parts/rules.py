"""What is true of designs, versions and shapes without asking a database."""

from __future__ import annotations

import enum
from collections.abc import Sequence
from math import pi
from typing import NamedTuple

from service.geometry.answers import LevelGirth


class PartKind(enum.StrEnum):
    """What a part is, printed or bought."""

    PALM = "palm"
    FINGER = "finger"
    THUMB = "thumb"
    WRIST_COUPLING = "wrist_coupling"
    FOREARM = "forearm"
    SOCKET = "socket"
    COVER = "cover"
    TOOL_HOLDER = "tool_holder"
    TERMINAL_DEVICE = "terminal_device"
    HARNESS = "harness"
    STRAP = "strap"
    LINE = "line"
    ELASTIC = "elastic"
    FASTENER = "fastener"
    LINER = "liner"
    MOTOR = "motor"
    BOARD = "board"
    BATTERY = "battery"
    OTHER = "other"

    @property
    def label(self) -> str:
        """The word on a screen."""
        return self.value.replace("_", " ")

    @property
    def is_printed(self) -> bool:
        """Whether a design of it makes sense; the others are only ever bought."""
        return self not in _BOUGHT


_BOUGHT = frozenset({PartKind.MOTOR, PartKind.BOARD, PartKind.BATTERY})


class Digit(enum.StrEnum):
    """A digit of the hand."""

    THUMB = "thumb"
    INDEX = "index"
    MIDDLE = "middle"
    RING = "ring"
    LITTLE = "little"


class VersionState(enum.StrEnum):
    """Where a version stands."""

    DRAFT = "draft"
    RELEASED = "released"
    WITHDRAWN = "withdrawn"


class ShapeMethod(enum.StrEnum):
    """How the shape of a limb was taken."""

    CAST = "cast"
    SCAN = "scan"


class CheckItem(enum.StrEnum):
    """What a part needs looked at on the bench before it is worn."""

    SHARP_EDGES = "sharp_edges"
    LAYERS = "layers"
    FASTENERS = "fasteners"
    CAPTIVE_PINS = "captive_pins"
    LINE_PULL = "line_pull"
    PINCH_POINTS = "pinch_points"
    EDGE_RADIUS = "edge_radius"
    HEAT = "heat"
    BATTERY = "battery"
    LABEL = "label"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


class Problem(NamedTuple):
    """What is wrong: the field, and a sentence that says what to do."""

    field: str
    message: str


def design_problem(kind: PartKind, digit: Digit | None) -> Problem | None:
    """What is wrong with what a design is said to be, or None."""
    if not kind.is_printed:
        return Problem("kind", f"A {kind.label} is bought, not printed: record the lot it comes from instead.")
    if digit is not None and kind not in {PartKind.FINGER, PartKind.THUMB}:
        return Problem("digit", f"A {kind.label} is no digit. Leave the digit out.")
    if digit is not None and (kind is PartKind.THUMB) is not (digit is Digit.THUMB):
        return Problem("digit", "A thumb is one kind of part, a finger another. Choose the kind that fits the digit.")
    return None


_EVERY_PRINT = (CheckItem.SHARP_EDGES, CheckItem.LAYERS, CheckItem.LABEL)
_MOVING = (CheckItem.CAPTIVE_PINS, CheckItem.LINE_PULL, CheckItem.PINCH_POINTS)
_ON_SKIN = (CheckItem.EDGE_RADIUS, CheckItem.HEAT)
_MORE_CHECKS: dict[PartKind, tuple[CheckItem, ...]] = {
    PartKind.PALM: (CheckItem.FASTENERS, *_MOVING),
    PartKind.FINGER: _MOVING,
    PartKind.THUMB: _MOVING,
    PartKind.WRIST_COUPLING: (CheckItem.FASTENERS, CheckItem.PINCH_POINTS),
    PartKind.TOOL_HOLDER: (CheckItem.FASTENERS, CheckItem.PINCH_POINTS),
    PartKind.TERMINAL_DEVICE: (CheckItem.FASTENERS, *_MOVING),
    PartKind.FOREARM: (CheckItem.FASTENERS, *_ON_SKIN),
    PartKind.SOCKET: _ON_SKIN,
    PartKind.STRAP: (CheckItem.FASTENERS, *_ON_SKIN),
}


def usual_checks(kind: PartKind) -> tuple[CheckItem, ...]:
    """What is looked at on the bench unless a version says otherwise; common practice, local rules go before it."""
    return (*_EVERY_PRINT, *_MORE_CHECKS.get(kind, ()))


def change_problem(state: VersionState) -> str | None:
    """Why a version in a state may not be altered, or None: what somebody wears must stay what it was."""
    if state is VersionState.DRAFT:
        return None
    return f"This version was {state.value}, so it never changes. Add what should be different as a new version."


def release_problem(state: VersionState, *, closed: bool) -> str | None:
    """Why a version may not be released, or None."""
    if state is VersionState.RELEASED:
        return "This version is released already. There is nothing more to do."
    if state is VersionState.WITHDRAWN:
        return "This version was withdrawn, and one that was is never released again. Add a new version."
    if not closed:
        return (
            "Its surface is not closed, so it is left to chance what a printer makes of it. Close the mesh in the "
            "program it was made with, and add it as a new version."
        )
    return None


def withdraw_problem(state: VersionState) -> str | None:
    """Why a version may not be withdrawn, or None; a draft may, since nothing is ever removed."""
    if state is VersionState.WITHDRAWN:
        return "This version is withdrawn already; the day and the reason are on record."
    return None


def limits_at(
    profile: Sequence[LevelGirth], across: float, along: float, liner_mm: float, levels: Sequence[float]
) -> list[tuple[float, float]]:
    """Where on the limb a socket printed at two scales is tight, as (level, bare-limb girth), all in mm.

    A level of the limb lies at `level / along` of the file. The inner girth there, between the two nearest levels of
    the profile, comes out `across` times as large, and a liner takes its thickness away all around. Levels that the
    profile does not reach are left out: nothing is guessed.
    """
    known = sorted(profile, key=lambda each: each.level_mm)
    found = [(level, _girth_at(known, level / along)) for level in levels]
    return [(level, girth * across - 2 * pi * liner_mm) for level, girth in found if girth is not None]


_ROUNDING_MM = 1e-6  # what a level divided by a scale may be off


def _girth_at(known: Sequence[LevelGirth], level: float) -> float | None:
    for lower, upper in zip(known, [*known[1:], *known[-1:]], strict=True):
        if lower.level_mm - _ROUNDING_MM <= level <= upper.level_mm + _ROUNDING_MM:
            step = upper.level_mm - lower.level_mm
            share = min(max((level - lower.level_mm) / step, 0.0), 1.0) if step else 0.0
            return lower.girth_mm + share * (upper.girth_mm - lower.girth_mm)
    return None


_DENSITIES = {"pla": 1.24, "petg": 1.27, "tpu": 1.21, "abs": 1.04, "asa": 1.07, "nylon": 1.14, "pa": 1.14, "pp": 0.9}
"""g/cm3 by the first word of a material; typical of such filament. The figure on the spool goes before it."""


USUAL_DENSITY = 1.24
"""g/cm3, where a material's own is not known."""


def density_of(material: str) -> float | None:
    """The usual density of a material in plain words ("TPU 95A"), g/cm3; None for one that is not known."""
    words = material.casefold().replace("-", " ").replace("+", " ").split()
    return _DENSITIES.get(words[0].rstrip("0123456789")) if words else None
