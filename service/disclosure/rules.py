"""What is told of one count: hidden when small, else the nearest of a coarse scale; nothing is told as nothing."""

from __future__ import annotations

import enum
from dataclasses import dataclass

from service.kit.errors import Invalid

LEAST_THRESHOLD, LEAST_BASE = 8, 5


class Hidden(enum.StrEnum):
    """Why a count is not told. Both say that it is not nothing."""

    SMALL = "small"
    WITHHELD = "withheld"


@dataclass(frozen=True)
class Told:
    """What is told of a count: a number, or why there is none."""

    value: int | None
    hidden: Hidden | None = None

    def __post_init__(self) -> None:
        if (self.value is None) == (self.hidden is None):
            raise ValueError("a count is told or hidden, one of the two")


NOTHING = Told(0)
SMALL = Told(None, Hidden.SMALL)
WITHHELD = Told(None, Hidden.WITHHELD)


@dataclass(frozen=True)
class Window:
    """The whole numbers that a count may be, both ends among them; `high` None is without end."""

    low: int
    high: int | None


@dataclass(frozen=True)
class Rule:
    """From how many on a count is told, and to the nearest how many."""

    threshold: int = LEAST_THRESHOLD
    base: int = LEAST_BASE

    def __post_init__(self) -> None:
        if self.threshold < LEAST_THRESHOLD:
            message = f"Counts may be told from {LEAST_THRESHOLD} on, not from fewer: choose {LEAST_THRESHOLD} or more."
            raise Invalid.at("threshold", message)
        if self.base < LEAST_BASE:
            message = f"Counts are told to the nearest {LEAST_BASE} or more coarsely: choose {LEAST_BASE} or more."
            raise Invalid.at("base", message)

    @property
    def lowest(self) -> int:
        """The least number that is ever told beside 0: the first of the scale that is not below the threshold."""
        return self.base * -(-self.threshold // self.base)

    def tell(self, count: int) -> Told:
        """What is told of a count that stands alone."""
        if count < 0:
            raise ValueError("nobody counts fewer than nothing")
        if count == 0:
            return NOTHING
        return SMALL if count < self.threshold else Told(max(self.lowest, self.nearest(count)))

    def nearest(self, amount: float) -> int:
        """The nearest of the scale, the upper one when it lies midway."""
        return self.base * int((2 * amount + self.base) // (2 * self.base))

    def window(self, told: Told) -> Window:
        """The counts of which this is told; a withheld one may be any but 0, as nothing more is said of it."""
        if told.hidden is Hidden.SMALL:
            return Window(1, self.threshold - 1)
        if told.value is None:
            return Window(1, None)
        if told.value == 0:
            return Window(0, 0)
        if told.value < self.lowest or told.value % self.base:
            raise ValueError(f"{told.value} is never told by this rule")
        low = self.threshold if told.value == self.lowest else told.value - self.base // 2
        return Window(low, told.value + (self.base - 1) // 2)

    def words(self, told: Told) -> str:
        """What is written in a cell."""
        if told.hidden is Hidden.SMALL:
            return f"fewer than {self.threshold}"
        if told.value is None:
            return "withheld, or another number could be worked out from it"
        return str(told.value)
