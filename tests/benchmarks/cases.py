"""Forecast cases with a known answer, read from beside HANDSPAN_CHECK_DATA, and their score.

The score of a case is the pinball loss in days, averaged over p10, p50 and p90; dates count up to three years or as far
as the child was watched.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from service.anthropometry import Dimension
from service.growth.model import forecast
from service.growth.model.case import Case
from service.growth.model.priors import Priors
from service.growth.schemas import ForecastCase
from service.growth.stateless import to_case

FILES = ("dev_cases", "dev_cases_stale", "dev_cases_socks", "dev_cases_body", "dev_cases_late")
HORIZON_DAYS = 1095


@dataclass(frozen=True)
class KnownCase:
    """A case, whose it is, and after how many days it was outgrown (or how long it was watched)."""

    name: str
    case: Case
    child: str
    due_days: int
    watched_days: int

    @property
    def dimension(self) -> Dimension:
        """What is outgrown."""
        return self.case.limits[0].channel.dimension


@dataclass(frozen=True)
class Score:
    """A case's pinball loss (days) and whether it came between p10 and p90; or the means of many."""

    pinball: float
    cover80: float


def data_folder() -> Path:
    """The folder of check data; leaves with a sentence if there is none."""
    if "HANDSPAN_CHECK_DATA" not in os.environ:
        raise SystemExit("Set HANDSPAN_CHECK_DATA to the folder of check data; the forecast cases lie beside it.")
    return Path(os.environ["HANDSPAN_CHECK_DATA"])


def load(name: str) -> list[KnownCase]:
    """The cases of one file."""
    with (data_folder().parent / "forecast" / f"{name}.jsonl").open() as lines:
        return [_known(json.loads(line)) for line in lines if line.strip()]


def _known(row: dict[str, Any]) -> KnownCase:
    case, truth = to_case(ForecastCase.model_validate(row["case"])), row["truth"]
    watched = min(HORIZON_DAYS, (date.fromisoformat(truth["seen_until"]) - case.as_of).days)
    due = (date.fromisoformat(truth["due_on"]) - case.as_of).days if truth["due_on"] else watched
    return KnownCase(row["case"]["case_id"], case, truth["child"], min(watched, max(0, due)), watched)


def score(known: KnownCase, priors: Priors) -> Score:
    """Forecast a case and score it."""
    found = forecast(known.case, priors)
    days = [
        known.watched_days if due is None else min(known.watched_days, (due - known.case.as_of).days)
        for due in (found.p10, found.p50, found.p90)
    ]
    miss = known.due_days - np.array(days)
    levels = np.array([0.1, 0.5, 0.9])
    pinball = np.maximum(levels * miss, (levels - 1) * miss).mean()
    return Score(float(pinball), float(days[0] <= known.due_days <= days[2]))


def mean(scores: Iterable[Score]) -> Score:
    """The mean of both figures."""
    pinball, cover80 = np.mean([(each.pinball, each.cover80) for each in scores], axis=0)
    return Score(float(pinball), float(cover80))
