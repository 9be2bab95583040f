"""What the register knows of a socket, put as the case a model takes: pure, the day is passed in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.anthropometry import Sex
from service.anthropometry.dimensions import CATALOGUE
from service.devices.schemas import LimitView, SockReportView
from service.growth.rules import grows_as
from service.growth.schemas import ForecastCase
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
    """The case as it stood on a day: later readings and reports are left out."""
    return ForecastCase.model_validate(
        {
            "case_id": f"{of.case_number}/{socket.id}",
            "birth_date": of.birth_date,
            "sex": of.sex,
            "as_of": as_of,
            "readings": _readings(of, readings, as_of),
            "device": {"fitted_on": socket.fitted_on, "limits": _limits(of, socket.limits)},
            "sock_reports": _sock_reports(socket, as_of),
        }
    )


def _readings(of: Person, readings: Iterable[StandingReading], as_of: date) -> list[dict[str, Any]]:
    return [
        {
            "on": reading.on,
            "method": reading.method.value,
            "dimension": grows_as(reading.dimension, of.ends.get(reading.side)).value,
            "side": reading.side and reading.side.value,
            "level_mm": reading.level_mm,
            f"value_{CATALOGUE[reading.dimension].unit}": reading.value,
        }
        for reading in readings
        # A birth date corrected later must not stop the forecast over a reading that is now before it.
        if of.birth_date <= reading.on <= as_of
    ]


def _limits(of: Person, limits: Iterable[LimitView]) -> list[dict[str, Any]]:
    return [
        {
            "dimension": grows_as(limit.dimension, of.ends.get(limit.side)).value,
            "side": limit.side and limit.side.value,
            "level_mm": limit.level_mm,
            "tight_at_mm": limit.tight_at_mm,
        }
        for limit in limits
    ]


def _sock_reports(socket: Socket, as_of: date) -> list[dict[str, Any]]:
    reports = [
        {"on": each.on, "plies": each.plies, "fit": each.fit.value} for each in socket.reports if each.on <= as_of
    ]
    if socket.socks_at_fitting:  # chosen by whoever fitted the socket, so that it was snug
        reports.insert(0, {"on": socket.fitted_on, "plies": socket.socks_at_fitting, "fit": "snug"})
    return reports
