"""Telling a story of invented people into the register, act by act; `seed_data/register.json` holds one."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any, TypeVar

from service.access.actor import Actor
from service.access.permissions import Role
from service.access.work import Work
from service.anthropometry import CATALOGUE, Dimension
from service.devices import actions as devices
from service.devices.schemas import AddDevice, AddSetting, AddSocket, ChangeDevice, EndSocket, ReportSocks
from service.kit.errors import Doubted
from service.measurements import actions as measurements
from service.measurements.schemas import AddMeasurement, CorrectReading, MeasurementView
from service.recipients import actions as recipients
from service.recipients.rules import ConsentKind
from service.recipients.schemas import (
    AddHelper,
    AddRecipient,
    AddSuitability,
    ChangeRecipient,
    EndOn,
    HoldReview,
)
from service.settings import resource

T = TypeVar("T")

Event = dict[str, Any]
"""`what` happened and how many days `ago`; the rest are the words of the command that records it."""


@dataclass
class Case:
    """What later events of one person refer to: ids by the key the story gives them."""

    number: str = ""
    devices: dict[str, int] = field(default_factory=dict)
    sockets: dict[str, int] = field(default_factory=dict)
    sessions: dict[str, MeasurementView] = field(default_factory=dict)
    consents: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Told:
    """How to act: `work` of an actor so many days ago, and the actors by the name the story calls them."""

    work: Callable[[Actor, int], Work]
    actors: dict[str, Actor]

    def account(self, name: str) -> int:
        """The account an actor signs in with."""
        account_id = self.actors[name].account_id
        if account_id is None:
            raise LookupError(f"{name} has no account")
        return account_id


def read_story() -> list[list[Event]]:
    """Everybody's events, oldest first, from the file that comes with the service."""
    found: list[list[Event]] = json.loads((resource("seed_data") / "register.json").read_text(encoding="utf-8"))
    return found


def tell(story: list[list[Event]], told: Told) -> None:
    """Do everything in the order in which it happened, across all people."""
    events = [(event, case) for person in story for case in [Case()] for event in person]
    for event, case in sorted(events, key=lambda each: -each[0]["ago"]):  # stable: a person's own order is kept
        words = dict(event)
        ago, what = words.pop("ago"), words.pop("what")
        actor = told.actors[Role.CLINICIAN if what in _BY_CLINICIANS else Role.COORDINATOR]
        _ACTS[what](told, told.work(actor, ago), case, words)


def _registered(_: Told, work: Work, case: Case, words: Event) -> None:
    words |= {
        "birth_date": work.today - timedelta(days=words.pop("age_days")),
        "consents": [{**each, "given_on": work.today} for each in words["consents"]],
    }
    view = recipients.register(work, AddRecipient.model_validate(words))
    case.number = view.case_number
    case.consents = {each.purpose: each.id for each in view.consents if each.kind is ConsentKind.CONSENT}


def _changed(_: Told, work: Work, case: Case, words: Event) -> None:
    if "prescriber_name" in words:
        words["prescribed_on"] = work.today
    recipients.change(work, case.number, ChangeRecipient.model_validate(words))


def _consent_withdrawn(_: Told, work: Work, case: Case, words: Event) -> None:
    recipients.withdraw_consent(work, case.number, case.consents[words["purpose"]], EndOn())


def _suitability(_: Told, work: Work, case: Case, words: Event) -> None:
    recipients.add_suitability(work, case.number, AddSuitability.model_validate(words | {"noted_on": work.today}))


def _review(_: Told, work: Work, case: Case, words: Event) -> None:
    recipients.hold_review(work, case.number, HoldReview.model_validate(words | {"held_on": work.today}))


def _helper(told: Told, work: Work, case: Case, words: Event) -> None:
    recipients.add_helper(work, case.number, AddHelper(account=told.account(words["who"])))


def _helper_ended(told: Told, work: Work, case: Case, words: Event) -> None:
    recipients.end_helper(work, case.number, told.account(words["who"]))


def _measured(_: Told, work: Work, case: Case, words: Event) -> None:
    key = words.pop("key", None)
    readings = [{**each, "unit": CATALOGUE[Dimension(each["dimension"])].unit} for each in words["readings"]]
    words |= {"taken_on": work.today, "readings": readings}
    view = _looking_twice(
        lambda given: measurements.record(work, case.number, AddMeasurement.model_validate(given)), words
    )
    if key is not None:
        case.sessions[key] = view


def _corrected(_: Told, work: Work, case: Case, words: Event) -> None:
    session = case.sessions[words.pop("key")]
    words |= {"reading": session.readings[words["reading"]].id, "unit": "mm"}
    _looking_twice(
        lambda given: measurements.correct(work, case.number, session.id, CorrectReading.model_validate(given)), words
    )


def _device(_: Told, work: Work, case: Case, words: Event) -> None:
    key = words.pop("key")
    if "replaces" in words:
        words["replaces"] = case.devices[words["replaces"]]
    case.devices[key] = devices.add_device(work, case.number, AddDevice.model_validate(words)).id


def _device_changed(_: Told, work: Work, case: Case, words: Event) -> None:
    devices.change_device(work, case.number, case.devices[words.pop("key")], ChangeDevice.model_validate(words))


def _socket(_: Told, work: Work, case: Case, words: Event) -> None:
    key = words.pop("key")
    words |= {"fitted_on": work.today}
    view = _looking_twice(
        lambda given: devices.add_socket(work, case.number, case.devices[key], AddSocket.model_validate(given)), words
    )
    case.sockets[key] = view.id


def _socket_ended(_: Told, work: Work, case: Case, words: Event) -> None:
    key = words.pop("key")
    device, socket = case.devices[key], case.sockets[key]
    devices.end_socket(work, case.number, device, socket, EndSocket.model_validate(words | {"ended_on": work.today}))


def _socks(_: Told, work: Work, case: Case, words: Event) -> None:
    words |= {"device": case.devices[words.pop("key")], "on": work.today}
    devices.report_socks(work, case.number, ReportSocks.model_validate(words))


def _setting(_: Told, work: Work, case: Case, words: Event) -> None:
    device = case.devices[words.pop("key")]
    devices.add_setting(work, case.number, device, AddSetting.model_validate(words | {"set_on": work.today}))


def _looking_twice(act: Callable[[Event], T], words: Event) -> T:
    """As people do: when the register doubts a size, look again and confirm it."""
    try:
        return act(words)
    except Doubted:
        return act(words | {"confirmed": True})


_BY_CLINICIANS = {"suitability"}

_ACTS: dict[str, Callable[[Told, Work, Case, Event], None]] = {
    "registered": _registered,
    "changed": _changed,
    "consent_withdrawn": _consent_withdrawn,
    "suitability": _suitability,
    "review": _review,
    "helper": _helper,
    "helper_ended": _helper_ended,
    "measured": _measured,
    "corrected": _corrected,
    "device": _device,
    "device_changed": _device_changed,
    "socket": _socket,
    "socket_ended": _socket_ended,
    "socks": _socks,
    "setting": _setting,
}
