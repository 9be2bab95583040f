"""A printed hand is sized by the sound one, and is one day small beside it. That never makes a socket tight."""

LOOKS_SMALL = 0.08  # the sound hand is so much longer than the printed one; judgement


def printed_mm(sound_mm: float, wish_percent: float) -> float:
    """The size of the printed hand: the sound hand's, and what its owner wishes it larger or smaller."""
    return sound_mm * (1 + wish_percent / 100)


def looks_small_from_mm(printed: float) -> float:
    """The sound hand's size (mm) from which the printed one looks small."""
    return printed * (1 + LOOKS_SMALL)
