"""What happened to people: cases, measurements, devices and sockets from elsewhere, socks and settings."""

from __future__ import annotations

from datetime import timedelta

from service.access.work import Work
from service.anthropometry import CATALOGUE, Dimension
from service.demo.telling import Act, Case, Event, Told, looking_twice
from service.devices import actions as devices
from service.devices.schemas import AddDevice, AddSetting, AddSocket, ChangeDevice, EndSocket, ReportSocks
from service.measurements import actions as measurements
from service.measurements.schemas import AddMeasurement, CorrectReading
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


def _registered(told: Told, work: Work, case: Case, words: Event) -> None:
    words |= {
        "birth_date": work.today - timedelta(days=words.pop("age_days")),
        "town": told.towns[words["town"]],
        "consents": [{**each, "given_on": work.today} for each in words["consents"]],
    }
    view = recipients.register(work, AddRecipient.model_validate(words))
    case.number = view.case_number
    told.cases[f"{view.given_name} {view.family_name}"] = case
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
    view = looking_twice(
        lambda given: measurements.record(work, case.number, AddMeasurement.model_validate(given)), words
    )
    if key is not None:
        case.sessions[key] = view


def _corrected(_: Told, work: Work, case: Case, words: Event) -> None:
    session = case.sessions[words.pop("key")]
    words |= {"reading": session.readings[words["reading"]].id, "unit": "mm"}
    looking_twice(
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
    view = looking_twice(
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


ACTS: dict[str, Act] = {
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
