"""What the room's own words stand for, without asking a database."""

from __future__ import annotations

from typing import Literal

from service.anthropometry import CATALOGUE, Dimension

Axis = Literal["across", "along"]

GIRTHS = tuple(each for each, facts in CATALOGUE.items() if facts.needs_level)
"""Dimensions taken at levels of the axis: a socket has one of them as its inside profile."""

BREADTHS = (Dimension.EPICONDYLAR_BREADTH, Dimension.HAND_BREADTH)
LENGTHS = (Dimension.RESIDUAL_LIMB_LENGTH, Dimension.FOREARM_LENGTH, Dimension.HAND_LENGTH)
OTHER_INSIDE_SIZES = (*BREADTHS, *LENGTHS)

LONGEST_MONTHS = 24
"""The longest wear that may be wished for."""

USUAL_MONTHS = 12
"""How long a child's socket is worn if nobody says: it is replaced at least yearly by common practice."""

FLAT_STEP = 1.05
"""What many do instead: the same again, 5 per cent larger. Common practice."""

SURE_TO_LAST = 0.9
"""A size lasts the months wanted if it does so in this share of futures; a choice of this register's."""

SURE_OF_LENGTH = 0.95
"""The length has to do in more futures, so that girth decides: room at the end of a socket does no harm."""

LONGEST_LEAD_DAYS = 365
"""Day one is at most so far ahead: a size worked out for later would rest on too little."""


FAR_FROM_BASE = (0.7, 1.4)
"""Scales across outside these ask for another base; common practice."""
