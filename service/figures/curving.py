"""Curves as they are told: at fixed points, coarsely, and when half had ended by them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.disclosure import Told
from service.disclosure.curves import Watched, tell_curve
from service.figures.rules import DAYS_A_MONTH, DAYS_A_WEEK
from service.figures.sheets import CurveView, FigureView, PointView
from service.figures.telling import EVERYBODY, Ends, Telling, rounded
from service.statistics.lives import Lives
from service.statistics.survival import kaplan_meier

DAYS = {"weeks": DAYS_A_WEEK, "months": DAYS_A_MONTH}


def curve(
    telling: Telling, key: str, lives: Lives, grid: Sequence[int], *, unit: str, count: Told, of: str = EVERYBODY
) -> CurveView:
    """A curve at the points of a grid; `count` is how many it begins with, as told."""
    exact = kaplan_meier(lives)
    at_day = {round(at * DAYS[unit]): at for at in grid}
    watched = [(day, exact.at(day)) for day in at_day]
    known = [Watched(day, found.value, exact.numbers(day)) for day, found in watched if found is not None]
    told = tell_curve(telling.rule, len(lives), known) if count.value is not None else None
    points = [
        PointView(
            at=at_day[point.day],
            value=rounded(point.value),
            low=rounded(point.low),
            high=rounded(point.high),
            n=point.at_least_at_risk,
        )
        for point in (told.points if told else ())
    ]
    return CurveView(
        key=key, of=of, unit=unit, n=count.value, points=points, method="kaplan-meier, told coarsely; log-log interval"
    )


def half(telling: Telling, key: str, curve: CurveView) -> FigureView:
    """By which point of a told curve half had ended, and between which points its interval lets that be."""

    def first(share_of: Callable[[PointView], float | None]) -> float | None:
        reached = (point.at for point in curve.points if (share := share_of(point)) is not None and share <= 0.5)
        return next(map(float, reached), None)

    ends = Ends(first(lambda point: point.value), first(lambda point: point.low), first(lambda point: point.high))
    return telling.read_off(key, ends, curve)
