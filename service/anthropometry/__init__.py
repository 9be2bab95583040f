"""What the body's dimensions are, in which units they come, and how big they are at which age.

A low room: it knows nothing of the register and reads nothing but its own tables. The plausibility of a reading and
the growth forecast are both judged against it. Lengths and girths are millimetres, weight is kilograms, ages are
years from birth.
"""

from service.anthropometry.dimensions import CATALOGUE, SAME_LEVEL_MM, Dimension, DimensionFacts, short_landmark
from service.anthropometry.reference import Curve, Sex, largest_believable_growth, reference
from service.anthropometry.typical import TypicalChild, typical_child
from service.anthropometry.units import parse_size

__all__ = [
    "CATALOGUE",
    "SAME_LEVEL_MM",
    "Curve",
    "Dimension",
    "DimensionFacts",
    "Sex",
    "TypicalChild",
    "largest_believable_growth",
    "parse_size",
    "reference",
    "short_landmark",
    "typical_child",
]
