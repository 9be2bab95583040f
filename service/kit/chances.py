"""How likely something is, as people say it: one scale, so that no two lines call the same figure by two words."""

from __future__ import annotations

PROBABLY = 0.5
"""From this probability on something is said to be so, probably."""

ALMOST_CERTAINLY = 0.9
"""From this probability on "probably" would say too little."""


def likely(p: float) -> str:
    """Return the adverb for a probability (0-1): ``0.6`` → ``"probably"``, ``0.1`` → ``"probably not"``."""
    if p >= ALMOST_CERTAINLY:
        return "almost certainly"
    return "probably" if p >= PROBABLY else "probably not"
