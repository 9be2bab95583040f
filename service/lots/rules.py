"""What is true of lots without asking a database."""

from __future__ import annotations

import enum


class LotKind(enum.StrEnum):
    """A spool of filament, or bought things."""

    FILAMENT = "filament"
    HARDWARE = "hardware"


class LotUnit(enum.StrEnum):
    """What a lot is counted in."""

    GRAMS = "g"
    METRES = "m"
    PIECES = "pieces"


class LotState(enum.StrEnum):
    """Whether something may be made from it."""

    IN_USE = "in_use"
    USED_UP = "used_up"
    HELD = "held"
    WITHDRAWN = "withdrawn"
