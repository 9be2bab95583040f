"""The charts of a case page: the limb size that limits a socket, as measured, as foreseen, and as the socket allows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from service.anthropometry.dimensions import CATALOGUE
from service.casefile.schemas import CaseFile
from service.devices.schemas import LimitView, WornSocket
from service.growth.model.priors import PRIORS
from service.growth.stored import StoredForecast
from service.measurements.rules import Method, Place
from service.measurements.schemas import ReadingView
from service.web.charts import GrowthChart, Reading, growth_chart


@dataclass(frozen=True)
class Plot:
    """A chart and its words; `key` is unique on the page."""

    key: str
    title: str
    description: str
    dimension: str
    chart: GrowthChart


def socket_plot(case: CaseFile, worn: WornSocket, forecast: StoredForecast, today: date) -> Plot | None:
    """The chart of a socket's limiting size, or of its first limit while there is no forecast; None without either."""
    limit = _limiting(worn, forecast)
    if limit is None:
        return None
    ends_at = next((limb.level for limb in case.person.limbs if limb.side is worn.side), None)
    place = Place.on_limb(ends_at, limit.dimension, limit.side or worn.side, limit.level_mm)
    readings = [*_measured(case, place), *_from_socks(forecast, limit)]
    chart = growth_chart(
        readings,
        today,
        curve=forecast.curve,
        tight_at=limit.tight_at_mm,
        due=forecast.due,
        start_by=forecast.start_by,
    )
    return Plot(
        key=f"socket-{worn.socket}",
        title=f"{_capital(place.words)}, and when the {worn.side} {worn.purpose} socket is tight",
        description=f"{len(readings)} sizes, measured or worked out from the socks worn, the sizes expected from them, "
        f"and the size of {limit.tight_at_mm:.1f} mm at which the socket is tight.",
        dimension=place.words,
        chart=chart,
    )


def limb_plot(case: CaseFile, today: date) -> Plot | None:
    """The chart of the limb size measured most often, for a case without a socket; None when nothing was measured."""
    places = Counter(_place(reading) for _, _, reading in _readings(case) if CATALOGUE[reading.dimension].needs_side)
    if not places:
        return None
    place = places.most_common(1)[0][0]
    readings = list(_measured(case, place))
    return Plot(
        key="limb",
        title=f"{_capital(place.words)}, as measured",
        description=f"{len(readings)} sizes measured so far.",
        dimension=place.words,
        chart=growth_chart(readings, today),
    )


def _limiting(worn: WornSocket, forecast: StoredForecast) -> LimitView | None:
    found = forecast.limiting
    if found is not None:
        for limit in worn.limits:
            if (limit.dimension, limit.level_mm) == (found.dimension, found.level_mm):
                return limit
    return worn.limits[0] if worn.limits else None


def _readings(case: CaseFile) -> Iterator[tuple[date, Method, ReadingView]]:
    return ((session.taken_on, session.method, reading) for session in case.sessions for reading in session.readings)


def _place(reading: ReadingView) -> Place:
    return Place(reading.dimension, reading.side, reading.level_mm, reading.landmark)


def _measured(case: CaseFile, place: Place) -> Iterator[Reading]:
    for on, method, reading in _readings(case):
        if reading.value_mm is not None and _place(reading).near(place):
            yield Reading(on, reading.value_mm, _error(reading, method), "measured", _state(reading))


def _state(reading: ReadingView) -> Literal["kept", "doubted", "corrected"]:
    if reading.struck:
        return "corrected"
    return "doubted" if reading.doubts else "kept"


def _error(reading: ReadingView, method: Method) -> float:
    """The standard deviation (mm) of one reading, as the forecast takes it."""
    of_tape = next(
        family.members[reading.dimension].tape for family in PRIORS.families if reading.dimension in family.members
    )
    return of_tape * PRIORS.method_error[method.value] * (reading.value_mm or 0.0)


def _from_socks(forecast: StoredForecast, limit: LimitView) -> Iterator[Reading]:
    """Sizes worked out from the socks worn, where the forecast took them for sizes at this limit."""
    for each in forecast.from_socks:
        if (each.dimension, each.level_mm) == (limit.dimension, limit.level_mm):
            yield Reading(each.on, each.size_mm, each.sd_mm, "socks")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
