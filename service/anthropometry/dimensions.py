"""The catalogue of dimensions: what each is called, where it is taken and what no human body exceeds."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

Unit = Literal["mm", "kg"]

SAME_LEVEL_MM = 5.0
"""Levels no further apart (mm) are one: nobody lays a tape more exactly."""


class Dimension(StrEnum):
    """A size of the body the register keeps. The value is the word used in data and interfaces."""

    RESIDUAL_LIMB_GIRTH = "residual_limb_girth"
    RESIDUAL_LIMB_LENGTH = "residual_limb_length"
    EPICONDYLAR_BREADTH = "epicondylar_breadth"
    HAND_LENGTH = "hand_length"
    HAND_BREADTH = "hand_breadth"
    FOREARM_GIRTH = "forearm_girth"
    FOREARM_LENGTH = "forearm_length"
    UPPER_ARM_GIRTH = "upper_arm_girth"
    HEIGHT = "height"
    WEIGHT = "weight"


@dataclass(frozen=True, slots=True)
class DimensionFacts:
    """Facts about one dimension.

    `smallest` and `largest` (in `unit`) bound every human from birth to old age, with room to spare: a value outside
    them is a slip of the pen, not a surprise.
    """

    label: str
    unit: Unit
    needs_side: bool
    needs_level: bool
    landmark: str
    smallest: float
    largest: float


_FOREARM_LEVEL = "the lateral epicondyle, measuring distally"

CATALOGUE: dict[Dimension, DimensionFacts] = {
    Dimension.RESIDUAL_LIMB_GIRTH: DimensionFacts(
        "residual limb girth", "mm", True, True, _FOREARM_LEVEL, smallest=40, largest=700
    ),
    Dimension.RESIDUAL_LIMB_LENGTH: DimensionFacts(
        "residual limb length",
        "mm",
        True,
        False,
        "the lateral epicondyle to the end of the limb",
        smallest=5,
        largest=500,
    ),
    Dimension.EPICONDYLAR_BREADTH: DimensionFacts(
        "breadth across the epicondyles",
        "mm",
        True,
        False,
        "the two epicondyles of the humerus",
        smallest=15,
        largest=120,
    ),
    Dimension.HAND_LENGTH: DimensionFacts(
        "hand length", "mm", True, False, "the wrist crease to the tip of the middle finger", smallest=35, largest=280
    ),
    Dimension.HAND_BREADTH: DimensionFacts(
        "hand breadth", "mm", True, False, "across the knuckles, without the thumb", smallest=15, largest=140
    ),
    Dimension.FOREARM_GIRTH: DimensionFacts(
        "forearm girth", "mm", True, True, _FOREARM_LEVEL, smallest=60, largest=550
    ),
    Dimension.FOREARM_LENGTH: DimensionFacts(
        "forearm length", "mm", True, False, "the head of the radius to its styloid", smallest=40, largest=400
    ),
    Dimension.UPPER_ARM_GIRTH: DimensionFacts(
        "upper arm girth", "mm", True, True, "the acromion, measuring distally", smallest=40, largest=750
    ),
    Dimension.HEIGHT: DimensionFacts(
        "height", "mm", False, False, "the floor, without shoes", smallest=250, largest=2_750
    ),
    Dimension.WEIGHT: DimensionFacts(
        "weight", "kg", False, False, "light clothing, without devices", smallest=0.4, largest=500
    ),
}
