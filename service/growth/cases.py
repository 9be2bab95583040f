"""What the register knows of a socket, put as the case a model takes: pure, the day is passed in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.anthropometry import Sex
from service.anthropometry.dimensions import CATALOGUE
from service.devices.schemas import LimitView, SockReportView
from service.growth.rules import limb_of
from service.growth.schemas import ForecastCase
from service.measurements.rules import Place
from service.measurements.schemas import StandingReading
from service.recipients.rules import Level, Side


@dataclass(frozen=True)
class Person:
    """Whose socket it is; `ends` says where the limb of each side ends."""

    case_number: str
    birth_date: date
    sex: Sex
    ends: Mapping[Side | None, Level]


@dataclass(frozen=True)
class Socket:
    """A socket as it was fitted, with the sock reports of it that count."""

    id: int
    fitted_on: date
    socks_at_fitting: list[int]
    limits: list[LimitView]
    reports: list[SockReportView]


def as_case(of: Person, socket: Socket, readings: Iterable[StandingReading], as_of: date) -> ForecastCase:
    """The case as it stood on a day: later readings and reports are left out; `left_out` says what else is.

    Raises ValueError for a socket fitted before birth, of which `why_no_forecast` tells.
    """
    return ForecastCase.model_validate(
        {
            "case_id": f"{of.case_number}/{socket.id}",
            "birth_date": of.birth_date,
            "sex": of.sex,
            "as_of": as_of,
            "readings": [_reading(each) for each in _since_birth(of, readings, as_of) if not _elsewhere(of, each)],
            "device": {"fitted_on": socket.fitted_on, "limits": [_limit(each) for each in socket.limits]},
            "sock_reports": _sock_reports(of, socket, as_of),
            "limb": limb_of(next((of.ends.get(limit.side) for limit in socket.limits), None)),
        }
    )


def limb_case(of: Person, side: Side, readings: Iterable[StandingReading], as_of: date) -> ForecastCase:
    """What is known of a limb on which no socket is in place: its readings alone. Raises ValueError before birth."""
    return ForecastCase.model_validate(
        {
            "case_id": f"{of.case_number}/{side}",
            "birth_date": of.birth_date,
            "sex": of.sex,
            "as_of": as_of,
            "readings": [_reading(each) for each in _since_birth(of, readings, as_of) if not _elsewhere(of, each)],
            "limb": limb_of(of.ends.get(side)),
        }
    )


def left_out(of: Person, readings: Iterable[StandingReading], as_of: date) -> list[str]:
    """What is known on a day and cannot be used, in sentences: one level from two landmarks is two places."""
    elsewhere = [each for each in _since_birth(of, readings, as_of) if _elsewhere(of, each)]
    named = sum(1 for each in elsewhere if each.landmark)
    said = []
    if named:
        one = "One reading counted from another landmark was"
        said.append(f"{one if named == 1 else f'{named} readings counted from other landmarks were'} left out.")
    if unnamed := len(elsewhere) - named:
        some = "One reading was" if unnamed == 1 else f"{unnamed} readings were"
        said.append(
            f"{some} left out that would be counted from the elbow, on a limb that ends there or above. What was "
            "counted from the acromion can be struck through and recorded again."
        )
    return said


def _elsewhere(of: Person, reading: StandingReading) -> bool:
    """Whether a reading is counted from another landmark than the limits of a socket are."""
    return reading.place != Place.on_limb(of.ends.get(reading.side), reading.dimension, reading.side, reading.level_mm)


def _since_birth(of: Person, readings: Iterable[StandingReading], as_of: date) -> list[StandingReading]:
    """What was read by a day. A birth date corrected later must not stop the forecast over what is now before it."""
    return [each for each in readings if of.birth_date <= each.on <= as_of]


def _reading(reading: StandingReading) -> dict[str, Any]:
    return {
        "on": reading.on,
        "method": reading.method.value,
        "dimension": reading.dimension.value,
        "side": reading.side and reading.side.value,
        "level_mm": reading.level_mm,
        f"value_{CATALOGUE[reading.dimension].unit}": reading.value,
    }


def _limit(limit: LimitView) -> dict[str, Any]:
    return {
        "dimension": limit.dimension.value,
        "side": limit.side and limit.side.value,
        "level_mm": limit.level_mm,
        "tight_at_mm": limit.tight_at_mm,
    }


def _sock_reports(of: Person, socket: Socket, as_of: date) -> list[dict[str, Any]]:
    reports = [
        {"on": each.on, "plies": each.plies, "fit": each.fit.value}
        for each in socket.reports
        if of.birth_date <= each.on <= as_of
    ]
    if socket.socks_at_fitting:  # chosen by whoever fitted the socket, so that it was snug
        reports.insert(0, {"on": socket.fitted_on, "plies": socket.socks_at_fitting, "fit": "snug"})
    return reports
