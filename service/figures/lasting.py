"""How long things last, for the curves: devices worn, requests waited for, parts in place. In days; exact."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

import numpy as np

from service.devices.rules import EndReason
from service.figures.facts import Asked, Device, Stay
from service.figures.rules import DAYS_A_YEAR
from service.requests.rules import RequestState
from service.statistics.lives import Lives

LEAST = 0.5
"""Days that what began and ended within one day lasted, so that it counts as followed at all."""


def worn(devices: Collection[Device]) -> Lives:
    """Devices from the day first worn until they were stopped, or until anybody last heard of them."""
    ends = [each.stopped_on or each.heard_on for each in devices]
    lasted = [(end - each.begun_on).days for each, end in zip(devices, ends, strict=True)]
    return _lives([0] * len(lasted), lasted, [each.stopped_on is not None for each in devices])


def waited(requests: Collection[Asked], until: date) -> Lives:
    """Requests from the day they were asked until they were answered, less the days the clock stood still."""
    lasted = [((each.settled_on or until) - each.asked_on).days - each.waited for each in requests]
    answered = [each.settled_on is not None and each.state is RequestState.ANSWERED for each in requests]
    return _lives([0] * len(lasted), lasted, answered)


def in_place(stays: Collection[Stay], until: date) -> Lives:
    """Parts by the days they have been in place, since the register knew of them, until they broke."""
    entry = [each.age + (min(each.known_from, each.until or until) - each.since).days for each in stays]
    lasted = [each.age + ((each.until or until) - each.since).days for each in stays]
    return _lives(entry, lasted, [each.came_off is EndReason.BROKEN for each in stays])


def years_in_place(stays: Collection[Stay], until: date) -> float:
    """Years that parts were in place and known of, all together."""
    return _years(in_place(stays, until))


def years_worn(devices: Collection[Device]) -> float:
    """Years that devices were worn as far as anybody heard, all together."""
    return _years(worn(devices))


def _years(lives: Lives) -> float:
    return float((lives.exit - lives.entry).sum()) / DAYS_A_YEAR


def _lives(entry: list[int], lasted: list[int], ended: list[bool]) -> Lives:
    since = np.asarray(entry, dtype=float)
    return Lives.of(since, np.maximum(np.asarray(lasted, dtype=float), since + LEAST), np.asarray(ended, dtype=bool))
