"""Figures in sentences, so that who reads no chart reads the same; how a number is said is for `reading`."""

from __future__ import annotations

from typing import Final

from service.figures import reading
from service.figures.sheets import FigureView

TOO_WIDE: Final = 0.6
"""A share that is hidden, and may be anywhere in so wide a range, is not worth a sentence."""


def per_cent(figure: FigureView, what: str) -> str:
    """As "About 85 in 100 of what was answered was there in time (78 to 91)."."""
    if figure.low is None or figure.high is None or (figure.value is None and figure.high - figure.low > TOO_WIDE):
        return f"How many in 100 {what} cannot be told yet."
    ends = reading.between(figure.low, figure.high, reading.SHARE)
    if figure.value is None:
        return f"In 100, {ends} {what}."
    said = reading.say(figure.value, reading.SHARE)
    return f"{f'About {said}' if said[0].isdigit() else reading.upper(said)} {what} ({ends})."


def in_weeks(figure: FigureView) -> str:
    """When half had ended."""
    if figure.value is None:
        return "When half are answered cannot be told yet."
    return f"Half are answered within {reading.say(figure.value, 'weeks')}."


def between(figure: FigureView) -> str:
    """A figure with the ends of its interval: "27.5 (21 to 34)"; nothing where it is not told."""
    if figure.value is None:
        return ""
    ends = reading.between(figure.low, figure.high, figure.unit)
    return f"{reading.bare(figure.value, figure.unit)} ({ends})" if ends else reading.bare(figure.value, figure.unit)
