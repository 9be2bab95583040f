"""Figures in sentences, so that who reads no chart reads the same."""

from __future__ import annotations

from typing import Final

from service.figures.sheets import FigureView

TOO_WIDE: Final = 0.6
"""A share that is hidden, and may be anywhere in so wide a range, is not worth a sentence."""


def per_cent(figure: FigureView, what: str) -> str:
    """As "About 85 in 100 of what was answered was there in time (at least 78, at most 91)."."""
    if figure.low is None or figure.high is None or (figure.value is None and figure.high - figure.low > TOO_WIDE):
        return f"How many in 100 {what} cannot be told yet."
    between = f"at least {_in_100(figure.low)}, at most {_in_100(figure.high)}"
    if figure.value is None:
        return f"In 100, {between} {what}."
    return f"About {_in_100(figure.value)} in 100 {what} ({between})."


def _in_100(share: float) -> str:
    """A share as a whole number in 100, of which 0 and 100 are none and all."""
    said = round(100 * share)
    if said == 0 and share > 0:
        return "1"
    return "99" if said == 100 and share < 1 else str(said)


def in_weeks(figure: FigureView) -> str:
    """When half had ended."""
    if figure.value is None:
        return "When half are answered cannot be told yet."
    return f"Half are answered within {figure.value:.0f} weeks."


def number(value: float) -> str:
    """A figure as it is read: two or three digits that mean something."""
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def between(figure: FigureView) -> str:
    """A figure with the ends of its interval: "27.5 (21 to 34)"; nothing where it is not told."""
    if figure.value is None:
        return ""
    if figure.low is None or figure.high is None:
        return number(figure.value)
    return f"{number(figure.value)} ({number(figure.low)} to {number(figure.high)})"
