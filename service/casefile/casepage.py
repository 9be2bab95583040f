"""What the case page shows, put together from a case file: pure, today is passed in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from service.casefile.plots import Plot, limb_plot, socket_plot
from service.casefile.rules import Standing, measure_every, next_step, review_due
from service.casefile.schemas import CaseFile, Sign
from service.casefile.telling import history, until
from service.devices.rules import Use
from service.devices.schemas import WornSocket
from service.growth.rules import ForecastState
from service.growth.stored import StoredForecast
from service.kit.chances import PROBABLY
from service.recipients.rules import CaseState
from service.requests.rules import RequestKind

HISTORY_LENGTH = 30


@dataclass(frozen=True)
class Worn:
    """A socket in place with its forecast and chart, and the sign that it is tight if there is one.

    `waits` says that it is time to ask for the next one, and that the forecast does not while the case is paused.
    """

    socket: WornSocket
    sign: Sign | None
    forecast: StoredForecast
    plot: Plot | None
    waits: bool

    @property
    def probably_tight(self) -> bool:
        """Whether it is more likely tight today than not."""
        return (self.forecast.already or 0.0) >= PROBABLY


def case_context(case: CaseFile, today: date, before: date | None, *, may_correct: bool) -> dict[str, Any]:
    """The names that `casefile/case.html` uses; `before` asks for the history older than a day.

    `may_correct` says whether whoever reads it may correct measurements.
    """
    worn = sorted(_worn(case, today), key=_pressing)
    events, older = until(history(case, may_correct=may_correct), before, HISTORY_LENGTH)
    last = _last_measured(case)
    routine = last and last + measure_every(case.person.birth_date, today)
    asking = [each.forecast for each in worn if each.forecast.state is ForecastState.CURRENT]
    measure_by = min((day for day in (routine, *(each.measure_by for each in asking)) if day), default=None)
    return {
        "case": case,
        "person": case.person,
        "worn": worn,
        "last_measured": last,
        "measure_by": measure_by,
        "measure_why": next(
            (each.measure_why for each in asking if measure_by and each.measure_by == measure_by), None
        ),
        "step": next_step(_standing(case, worn, today), today),
        "limb_plot": None if worn else limb_plot(case, today),
        "events": events,
        "before": before,
        "older": older,
    }


def _worn(case: CaseFile, today: date) -> list[Worn]:
    of_socket = {forecast.socket: forecast for forecast in case.forecasts}
    return [
        Worn(
            socket,
            case.signs.get(socket.socket),
            of_socket[socket.socket],
            socket_plot(case, socket, of_socket[socket.socket], today),
            _waits(case, of_socket[socket.socket], today),
        )
        for socket in case.worn
        if socket.socket in of_socket
    ]


def _waits(case: CaseFile, forecast: StoredForecast, today: date) -> bool:
    asked = any(each.kind is RequestKind.NEXT_SOCKET and each.device == forecast.device for each in case.asked)
    is_time = forecast.start_by is not None and forecast.start_by <= today
    return case.person.state is CaseState.PAUSED and is_time and not asked


def _pressing(worn: Worn) -> tuple[bool, float, date]:
    chance = worn.forecast.already or 0.0
    return worn.sign is None, -chance if worn.probably_tight else 0.0, worn.forecast.start_by or date.max


def _standing(case: CaseFile, worn: list[Worn], today: date) -> Standing:
    person = case.person
    first = worn[0].forecast if worn else None
    last = _last_measured(case)
    held = [review.age for review in person.reviews if review.held_on is not None]
    opened_on = case.states[-1].on if case.states else today
    return Standing(
        state=person.state,
        device_in_use=any(device.use is Use.IN_USE for device in case.devices),
        socket_in_place=bool(worn),
        measure_by=last and last + measure_every(person.birth_date, today),
        tight=any(each.sign is not None for each in worn),
        already=(first.already or 0.0) if first else 0.0,
        start_by=first.start_by if first else None,
        forecast_failed=any(each.forecast.state is ForecastState.FAILED for each in worn),
        lacking=bool(person.missing),
        review_due=review_due(person.birth_date, held, opened_on, today),
    )


def _last_measured(case: CaseFile) -> date | None:
    """The newest session of which a reading counts."""
    return next((each.taken_on for each in case.sessions if any(not r.struck for r in each.readings)), None)
