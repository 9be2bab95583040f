"""Figures in sentences: none and all are said of none and all alone; a range that says nothing is no sentence."""

from __future__ import annotations

from datetime import date

import pytest

from service.figures.sheets import FigureView
from service.figures.wording import per_cent


def figure(value: float | None, low: float | None, high: float | None) -> FigureView:
    return FigureView(
        key="waits.in_time",
        of="everybody",
        unit="share",
        value=value,
        low=low,
        high=high,
        n=None,
        suppressed=value is None,
        method="wilson",
        as_of=date(2025, 12, 31),
    )


@pytest.mark.parametrize(
    ("value", "low", "high", "said"),
    [
        (0.754, 0.706, 0.791, "About 75 in 100 came (71 to 79)."),
        (0.997, 0.982, 1.0, "Over 99 in 100 came (98 to 100)."),
        (0.003, 0.0, 0.02, "Under 1 in 100 came (0 to 2)."),
        (1.0, 0.95, 1.0, "About 100 in 100 came (95 to 100)."),
        (None, 0.64, 0.99, "In 100, 64 to 99 came."),
        (None, 0.0, 1.0, "How many in 100 came cannot be told yet."),
        (None, None, None, "How many in 100 came cannot be told yet."),
    ],
)
def test_a_share_in_a_sentence(value: float | None, low: float | None, high: float | None, said: str) -> None:
    assert per_cent(figure(value, low, high), "came") == said
