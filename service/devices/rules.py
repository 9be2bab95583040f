"""What is true of devices, sockets and socks without asking a database."""

from __future__ import annotations

import enum
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from service.anthropometry.dimensions import CATALOGUE, Dimension, DimensionFacts
from service.recipients.rules import Level, Side

PLIES = (1, 2, 3, 5)
"""The ply labels on socks; a label is no thickness."""

MOST_SOCKS = 6
"""Socks worn over each other; more cannot be right."""

LONGEST_LEVEL_MM = 500.0
"""No level of an arm is farther than this from its landmark, in mm."""

LIMIT_DIMENSIONS = tuple(each for each, facts in CATALOGUE.items() if facts.needs_side and facts.unit == "mm")
"""Dimensions of a limb, which a socket can be too small for; a body's height or weight is none."""


class Use(enum.StrEnum):
    """How a device is used now."""

    IN_USE = "in_use"
    SPARE = "spare"
    STOPPED = "stopped"


class StoppedWhy(enum.StrEnum):
    """Why a device is no longer used, as its wearer sees it; one that was replaced was not rejected, so has none."""

    HURTS = "hurts"
    TOO_HEAVY = "too_heavy"
    LITTLE_USE = "little_use"
    LOOKS = "looks"
    BROKEN = "broken"
    TOO_SMALL = "too_small"
    BETTER_WITHOUT = "better_without"
    OTHER = "other"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return _WHY_STOPPED[self]


_WHY_STOPPED = {
    StoppedWhy.HURTS: "it hurts, or the skin",
    StoppedWhy.TOO_HEAVY: "too heavy",
    StoppedWhy.LITTLE_USE: "of little use",
    StoppedWhy.LOOKS: "how it looks",
    StoppedWhy.BROKEN: "broken, and waiting",
    StoppedWhy.TOO_SMALL: "too small, and waiting",
    StoppedWhy.BETTER_WITHOUT: "does better without",
    StoppedWhy.OTHER: "another reason",
}


class EndReason(enum.StrEnum):
    """Why a socket came off for good."""

    OUTGROWN = "outgrown"
    BROKEN = "broken"
    WORN_OUT = "worn_out"
    PREFERENCE = "preference"
    NOTICE = "notice"
    MOVED = "moved"
    MISTAKE = "mistake"

    @property
    def words(self) -> str:
        """As it goes on after "it came off:"; a mistake never was in place."""
        return _WHY_IT_CAME_OFF.get(self, self.value.replace("_", " "))


_WHY_IT_CAME_OFF = {
    EndReason.PREFERENCE: "the wearer's preference",
    EndReason.NOTICE: "a safety notice",
    EndReason.MOVED: "moved to another device",
    EndReason.MISTAKE: "recorded by mistake",
}


class Fit(enum.StrEnum):
    """How the socket felt with the socks worn."""

    LOOSE = "loose"
    SNUG = "snug"
    TIGHT = "tight"


@dataclass(frozen=True)
class Problem:
    """What is wrong with one field, and what to do about it."""

    field: str
    message: str


@dataclass(frozen=True)
class Span:
    """Days a socket was in place; `until` None means it still is."""

    since: date
    until: date | None


def socks_problem(plies: Sequence[int]) -> str | None:
    """What is wrong with the plies of socks worn together, or None; no sock at all is fine."""
    if any(ply not in PLIES for ply in plies):
        return "Socks are 1, 2, 3 or 5 ply. Give the number on each sock's label."
    if len(plies) > MOST_SOCKS:
        return f"More than {MOST_SOCKS} socks cannot be worn over each other. Give those worn at the same time."
    return None


def read_socks(text: str) -> tuple[int, ...]:
    """Plies as somebody writes them, such as "3 + 1"; "none" is no sock.

    Raises ValueError, saying what to do, when something else than numbers is left.
    """
    parts = [part for part in re.split(r"[\s,+;&]+", text.strip().casefold()) if part and part != "and"]
    if parts in ([], ["none"], ["0"]):
        return ()
    if not all(part.isascii() and part.isdigit() and len(part) == 1 for part in parts):
        raise ValueError("Write the number on each sock's label with a plus between, such as 3 + 1.")
    return tuple(int(part) for part in parts)


def limit_problem(
    dimension: Dimension, side: Side | None, level_mm: float | None, *, device_side: Side, counted_from: str
) -> Problem | None:
    """What is wrong with where a socket in a device worn on `device_side` has a limit, or None. Levels are in mm.

    `counted_from` is the landmark of the limb's levels, in words. Whether the size can be right is judged in
    `plausibility.py`.
    """
    facts = CATALOGUE[dimension]
    if dimension not in LIMIT_DIMENSIONS:
        return Problem("dimension", f"No socket is outgrown by {facts.label}. Choose a dimension of the limb.")
    if side is not None and side is not device_side:
        return Problem("side", f"This device is worn on the {device_side}. Check the side, or leave it out.")
    if (wrong_level := _level_problem(facts, level_mm, counted_from)) is not None:
        return Problem("level_mm", wrong_level)
    return None


def _level_problem(facts: DimensionFacts, level_mm: float | None, counted_from: str) -> str | None:
    if level_mm is None:
        ask = f"Say at which level this girth is taken: how many mm from {counted_from}."
        return ask if facts.needs_level else None
    if not facts.needs_level:
        return f"A level belongs to a girth, not to {facts.label}. Leave it empty."
    if not 0 <= level_mm <= LONGEST_LEVEL_MM:
        return f"The level is between 0 and {LONGEST_LEVEL_MM:.0f} mm from {counted_from}."
    return None


def fitting_problem(fitted_on: date, earlier: Iterable[Span]) -> str | None:
    """What is wrong with the day a socket was fitted, given the sockets that came off before, or None."""
    if any(span.until is None or fitted_on < span.until for span in earlier):
        return "Another socket of this device was in place after that day. Record sockets in the order they were worn."
    return None


def sides_in_words(sides: Iterable[Side]) -> str:
    """Sides as a sentence takes them: "left", or "left and right"."""
    return " and ".join(sorted(sides))


_HAND_LIMITS = (Dimension.HAND_BREADTH, Dimension.FOREARM_GIRTH)
_UPPER_ARM_LIMITS = (Dimension.RESIDUAL_LIMB_GIRTH, Dimension.RESIDUAL_LIMB_LENGTH)
_ARM_LIMITS = (*_UPPER_ARM_LIMITS, Dimension.EPICONDYLAR_BREADTH)


def usual_limits(ends_at: Level | None) -> tuple[Dimension, ...]:
    """The dimensions that usually limit a socket for a limb that ends at a level; an upper arm has no epicondyles."""
    if ends_at is not None and ends_at.is_above_forearm and ends_at is not Level.ELBOW:
        return _UPPER_ARM_LIMITS
    return _HAND_LIMITS if ends_at in {Level.PHALANGEAL, Level.METACARPAL, Level.CARPAL} else _ARM_LIMITS
