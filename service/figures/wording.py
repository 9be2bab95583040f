"""Figures in sentences, so that who reads no chart reads the same."""

from __future__ import annotations

from service.figures.sheets import FigureView


def per_cent(figure: FigureView, what: str) -> str:
    """As "About 85 in 100 of what was answered was there in time (at least 78, at most 91)."."""
    if figure.low is None or figure.high is None:
        return f"How many in 100 {what} cannot be told yet."
    between = f"at least {100 * figure.low:.0f}, at most {100 * figure.high:.0f}"
    if figure.value is None:
        return f"In 100, {between} {what}."
    return f"About {100 * figure.value:.0f} in 100 {what} ({between})."


def in_weeks(figure: FigureView) -> str:
    """When half had ended."""
    if figure.value is None:
        return "When half are answered cannot be told yet."
    return f"Half are answered within {figure.value:.0f} weeks."


def number(value: float) -> str:
    """A figure as it is read: two or three digits that mean something."""
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"
