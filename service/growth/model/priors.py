"""What the model believes before it has seen anybody: few numbers, each with where it comes from.

"Study" is the Berkeley Guidance Study (Tuddenham & Snyder 1954), 68 children followed from birth: stature stands for
hand length and calf girth for arm girth, as no open study has followed hands or forearms. Its numbers are those most
likely to have made the children's histories (`tests/benchmarks/fit.py`); `cross_validate.py` beside it shows that they
serve children who had no part in them.
"Survey" is Snyder 1977, UM-HSRI-77-17. "Judgement" has no source and is said to be that.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from service.anthropometry import Dimension, TypicalChild, typical_child
from service.growth.model.case import Fit, Limb, Method

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Spread:
    """How one dimension varies between children and from visit to visit: standard deviations of log size.

    `level`: how large the child is for its age, shared by all sides and levels of the dimension. `profile`: how much
    the limb's own shape at one level departs from that. `gain`: growth as a multiple of the typical child's.
    `wander`: slow departures from the child's own course. `tape`: one careful reading with a tape (or scales).
    """

    level: float
    gain_sd: float
    wander: float
    tape: float
    profile: float = 0.0
    gain: float = 1.0


@dataclass(frozen=True, slots=True)
class Family:
    """Dimensions that grow together. `alike` holds their correlations, one matrix for level, gain and wander each."""

    members: dict[Dimension, Spread]
    level_alike: Floats
    gain_alike: Floats
    wander_alike: Floats
    tempo_sd: float  # SD of the log stretch of age: 0.09 is about a year at puberty
    # Correlation of level with tempo: children who are early tend to be large. Judgement: the study's histories allow
    # anything from none to 0.4.
    early_is_large: float
    wander_years: float  # how long a departure lasts: the length scale of its Matern-3/2 covariance
    settled_pace: float  # how fast wandering goes on once grown up, relative to childhood


def _alike(size: int, default: float, pairs: dict[tuple[int, int], float]) -> Floats:
    matrix = np.full((size, size), default)
    np.fill_diagonal(matrix, 1.0)
    for (i, j), value in pairs.items():
        matrix[i, j] = matrix[j, i] = value
    return matrix


# Girths follow weight closely and height loosely. Level: the study's for girth; for the others, and the correlations
# (0.86 with the forearm, 0.5 for height), the survey's. Gain and wander: the study's. Tape: as published: one
# observer's reproducibility of 3.3 % (te Slaa 2011; 2.77 SD) is an SD of 1.2 %. A residual limb's profile is judgement:
# with it the level is nearly half as wide again as a sound forearm's. So is the pace of a grown-up girth: about two per
# cent in three years, as weight comes and goes. Wander of girths and hands is a tenth to a sixth below the likeliest:
# with the likeliest, more children than the model itself expected found their day within its range.
SOFT = Family(
    members={
        Dimension.RESIDUAL_LIMB_GIRTH: Spread(level=0.06, profile=0.08, gain_sd=0.09, wander=0.029, tape=0.0111),
        Dimension.FOREARM_GIRTH: Spread(level=0.06, profile=0.04, gain_sd=0.09, wander=0.029, tape=0.0111),
        Dimension.UPPER_ARM_GIRTH: Spread(level=0.095, profile=0.05, gain_sd=0.09, wander=0.045, tape=0.0111),
        Dimension.WEIGHT: Spread(level=0.15, gain_sd=0.07, wander=0.066, tape=0.006),
        Dimension.HEIGHT: Spread(level=0.04, gain_sd=0.08, wander=0.008, tape=0.004),
    },
    level_alike=_alike(5, 0.8, {(0, 4): 0.3, (1, 4): 0.3, (2, 4): 0.3, (3, 4): 0.6}),
    gain_alike=_alike(5, 0.7, {(0, 4): 0.3, (1, 4): 0.3, (2, 4): 0.3, (3, 4): 0.4}),
    wander_alike=_alike(5, 0.75, {(0, 4): 0.2, (1, 4): 0.2, (2, 4): 0.2, (3, 4): 0.4}),
    tempo_sd=0.035,
    early_is_large=0.25,
    wander_years=2.2,
    settled_pace=0.35,
)

# Height is left out on purpose: in the study hand length *is* stature, so no data here could say what it adds.
# A forearm that ends above the distal growth plate hardly lengthens (85 to 95 per cent of the ulna's growth is there:
# Pritchett 1991), a longer one nearly normally, and a congenital one often slower than the sound side. The level is not
# known here, so a residual limb's length gains 0.3 of normal, give or take as much: wide enough for both. Where a limb
# ends is its own (profile) and no evidence about tempo.
BONY = Family(
    members={
        Dimension.HAND_LENGTH: Spread(level=0.04, gain_sd=0.045, wander=0.0115, tape=0.0115),
        Dimension.HAND_BREADTH: Spread(level=0.05, gain_sd=0.10, wander=0.01, tape=0.015),
        Dimension.FOREARM_LENGTH: Spread(level=0.05, gain_sd=0.10, wander=0.01, tape=0.015),
        Dimension.EPICONDYLAR_BREADTH: Spread(level=0.06, gain_sd=0.15, wander=0.01, tape=0.02),
        Dimension.RESIDUAL_LIMB_LENGTH: Spread(level=0.05, profile=0.5, gain=0.3, gain_sd=0.3, wander=0.01, tape=0.02),
    },
    level_alike=_alike(5, 0.7, {}),
    gain_alike=_alike(5, 0.7, {}),
    wander_alike=_alike(5, 0.5, {}),
    tempo_sd=0.088,
    early_is_large=0.25,
    wander_years=3.4,
    settled_pace=0.02,
)


@dataclass(frozen=True, slots=True)
class Priors:
    """Everything the model assumes; `PRIORS` is what the service uses."""

    families: tuple[Family, ...] = (SOFT, BONY)
    typical: Callable[[Dimension, Literal["female", "male"]], TypicalChild] = typical_child
    # A reading's error by method, as a multiple of a careful tape reading's. Judgement.
    method_error: dict[Method, float] = field(
        default_factory=lambda: {"tape": 1.0, "scan": 0.8, "cast": 1.2, "clinic_letter": 1.2, "family": 2.0}
    )
    other_side: float = 0.02  # log SD between a person's two sound sides. Judgement.
    profile_mm: float = 40.0  # along a limb, girths this far apart have largely a profile of their own. Judgement.
    # Gross errors: swapped digits, the wrong landmark, the other arm. At most one, or two among more than three.
    bad_reading: float = 0.01
    bad_sd: float = 0.25
    # Sock thickness under load by ply (mm), single material: Sanders 2012. Blends are about half as thick: a site that
    # wears those should put theirs here.
    ply_mm: dict[int, float] = field(default_factory=lambda: {1: 0.7, 3: 1.2, 5: 1.5})
    ply_error: float = 0.08  # relative, shared by all reports of one socket
    # The limb's girth beside what the socks leave of the socket, and its SD (mm), by how the socket felt. Judgement.
    sock_mm: dict[Fit, tuple[float, float]] = field(
        default_factory=lambda: {"snug": (0.0, 3.5), "loose": (-4.0, 5.0), "tight": (4.0, 5.0)}
    )

    def of_limb(self, limb: Limb) -> "Priors":
        """The same for a residual limb that is this part of the arm: the girth of an upper arm grows as one."""
        if limb == "forearm":
            return self
        own, grows_as = Dimension.RESIDUAL_LIMB_GIRTH, Dimension.UPPER_ARM_GIRTH
        soft = next(family for family in self.families if own in family.members)
        grown = replace(soft, members=soft.members | {own: soft.members[grows_as]})
        return replace(
            self,
            families=tuple(grown if family is soft else family for family in self.families),
            typical=lambda dimension, sex: self.typical(grows_as if dimension is own else dimension, sex),
        )


PRIORS = Priors()
