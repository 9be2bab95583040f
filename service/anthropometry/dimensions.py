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
    them is a slip of the pen, not a surprise. `landmark` is the dimension's own; `landmark_above_elbow` is the one that
    takes its place on a residual limb that ends at the elbow or above, empty where the own one is there all the same.
    """

    label: str
    unit: Unit
    needs_side: bool
    needs_level: bool
    landmark: str
    smallest: float
    largest: float
    landmark_above_elbow: str = ""

    def kept_landmark(self, written: str = "", *, above_elbow: bool = False) -> str:
        """The landmark as a reading keeps it, from what was written: empty stands for the dimension's own, always.

        Nothing written means the usual one of the limb; `above_elbow` says that it ends at the elbow or above. What a
        reading keeps does not change when the limb is described anew, so the reading goes on meaning what it meant.
        """
        if not written:
            return self.landmark_above_elbow if above_elbow else ""
        if _names(written, self.landmark):
            return ""
        return self.landmark_above_elbow if _names(written, self.landmark_above_elbow) else written


_DISTALLY, _TO_THE_END = ", measuring distally", " to the end of the limb"
_FOREARM_LEVEL = f"the lateral epicondyle{_DISTALLY}"
_UPPER_ARM_LEVEL = f"the acromion{_DISTALLY}"


def short_landmark(landmark: str) -> str:
    """A landmark as a sentence takes it that need not say which way or how far: "the acromion"."""
    return landmark.removesuffix(_DISTALLY).removesuffix(_TO_THE_END)


def _names(written: str, landmark: str) -> bool:
    """Whether somebody's words are a landmark's: "Acromion" is "the acromion, measuring distally"."""
    said = written.strip().casefold().rstrip(".").removeprefix("the ")
    return said in {each.removeprefix("the ") for each in (landmark, short_landmark(landmark))}


CATALOGUE: dict[Dimension, DimensionFacts] = {
    Dimension.RESIDUAL_LIMB_GIRTH: DimensionFacts(
        "residual limb girth",
        "mm",
        True,
        True,
        _FOREARM_LEVEL,
        smallest=40,
        largest=700,
        landmark_above_elbow=_UPPER_ARM_LEVEL,
    ),
    Dimension.RESIDUAL_LIMB_LENGTH: DimensionFacts(
        "residual limb length",
        "mm",
        True,
        False,
        f"the lateral epicondyle{_TO_THE_END}",
        smallest=5,
        largest=500,
        landmark_above_elbow=f"the acromion{_TO_THE_END}",
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
        "upper arm girth", "mm", True, True, _UPPER_ARM_LEVEL, smallest=40, largest=750
    ),
    Dimension.HEIGHT: DimensionFacts(
        "height", "mm", False, False, "the floor, without shoes", smallest=250, largest=2_750
    ),
    Dimension.WEIGHT: DimensionFacts(
        "weight", "kg", False, False, "light clothing, without devices", smallest=0.4, largest=500
    ),
}
