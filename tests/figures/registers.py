"""Invented registers as facts: some people of a few sites, what they wear, ask for, break and say."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from service.devices.rules import EndReason, StoppedWhy
from service.figures.facts import (
    BODY_POWERED,
    EXTERNALLY_POWERED,
    FOUND,
    PASSIVE,
    Answered,
    Asked,
    AskedAfter,
    Attained,
    Device,
    Facts,
    Happened,
    Judged,
    Look,
    Noticed,
    Person,
    Spent,
    Stay,
    Worn,
)
from service.notices.rules import NoticeKind
from service.outcomes.rules import AskState
from service.recipients.rules import Cause, Level, Sex
from service.requests.rules import RequestKind, RequestState
from service.safety.rules import IncidentKind

UNTIL = date(2025, 12, 31)
SITES = ("Aldermouth", "Brackwater", "Cold Sill")


class Drawer:
    """Draws facts; skewed, so that small groups stand beside large ones."""

    def __init__(self, seed: int) -> None:
        self.chance = np.random.default_rng(seed)

    def one(self, *of: object) -> object:
        """One of several, the first far more often than the last."""
        weights = 0.5 ** np.arange(len(of))
        return of[int(self.chance.choice(len(of), p=weights / weights.sum()))]

    def day(self, first: date, last: date) -> date:
        """A day between two, both included."""
        return first + timedelta(days=int(self.chance.integers(0, max(1, (last - first).days + 1))))

    def yes(self, share: float) -> bool:
        """True in so many of all draws (0-1)."""
        return bool(self.chance.random() < share)


def facts(seed: int, people: int = 90) -> Facts:
    """A register of so many people, drawn."""
    draw = Drawer(seed)
    known = {number: _person(draw) for number in range(people)}
    devices = [_device(draw, number) for number in range(people) if draw.yes(0.9)]
    by_device = {each.id: each for each in devices}
    return Facts(
        until=UNTIL,
        people=known,
        devices=devices,
        requests=[_asked(draw, int(draw.chance.integers(people))) for _ in range(3 * people)],
        stays=[_stay(draw, by_device[int(draw.chance.choice(list(by_device)))]) for _ in range(4 * people)],
        sockets=[_socket(draw, each) for each in devices for _ in range(2)],
        incidents=[_incident(draw) for _ in range(int(draw.chance.integers(0, 40)))],
        notices=[_notice(draw) for _ in range(int(draw.chance.integers(0, 12)))],
        looks=[_look(draw) for _ in range(people)],
        spent=[_spent(draw, each) for each in range(people)],
        judged=[Judged(int(draw.chance.integers(people)), "1.3", str(draw.one(*FOUND))) for _ in range(people // 2)],
        asked=[_asked_after(draw, int(draw.chance.integers(people))) for _ in range(2 * people)],
        answers=[_answered(draw, each.recipient) for each in devices if draw.yes(0.6)],
        goals=[_goal(draw, int(draw.chance.integers(people))) for _ in range(people)],
    )


def _person(draw: Drawer) -> Person:
    return Person(
        site=str(draw.one(*SITES)),
        born=draw.day(date(1990, 1, 1), date(2022, 1, 1)),
        sex=Sex(str(draw.one(Sex.FEMALE, Sex.MALE, Sex.UNSPECIFIED))),
        language=str(draw.one("en", "nl", "ar")),
        km=float(draw.chance.exponential(15)) if draw.yes(0.9) else None,
        counted=draw.yes(0.9),
    )


def _device(draw: Drawer, recipient: int) -> Device:
    begun = draw.day(date(2022, 1, 1), date(2025, 10, 1))
    stopped = begun + timedelta(days=int(draw.chance.exponential(900)))
    is_stopped = stopped <= UNTIL
    return Device(
        id=recipient + 1000,
        recipient=recipient,
        level=Level(str(draw.one(Level.WRIST, Level.CARPAL, Level.ELBOW))),
        cause=Cause(str(draw.one(Cause.CONGENITAL, Cause.ACQUIRED))),
        drive=str(draw.one(BODY_POWERED, PASSIVE, EXTERNALLY_POWERED)),
        begun_on=begun,
        stopped_on=stopped if is_stopped else None,
        why=str(draw.one(*(why.label for why in StoppedWhy))) if is_stopped else "",
        heard_on=stopped if is_stopped else draw.day(begun, UNTIL),
        known_from=begun,
    )


def _asked(draw: Drawer, recipient: int) -> Asked:
    on = draw.day(date(2022, 1, 1), UNTIL)
    settled = on + timedelta(days=int(draw.chance.gamma(2.0, 14)))
    open_still = settled > UNTIL
    state = RequestState.OPEN if open_still else RequestState.ANSWERED if draw.yes(0.9) else RequestState.CLOSED
    kind = RequestKind(str(draw.one(RequestKind.REPLACEMENT, RequestKind.NEXT_SOCKET, RequestKind.FIRST_DEVICE)))
    return Asked(recipient, kind, state, on, None if open_still else settled, on + timedelta(days=28), 0)


def _stay(draw: Drawer, device: Device) -> Stay:
    version = int(draw.chance.integers(1, 3))
    since = draw.day(device.begun_on, UNTIL)
    lasted = int(draw.chance.exponential(600 if version == 1 else 1200)) + 1
    off = since + timedelta(days=lasted)
    why = EndReason.BROKEN if draw.yes(0.7) else EndReason.OUTGROWN
    over = off <= UNTIL
    design = str(draw.one("Finger", "Coupling", "Cover"))
    return Stay(design, version, device.id, since, off if over else None, why if over else None, 0, since)


def _socket(draw: Drawer, device: Device) -> Worn:
    fitted = draw.day(device.begun_on, UNTIL)
    off = fitted + timedelta(days=int(draw.chance.normal(350, 80)))
    tight = off - timedelta(days=int(draw.chance.integers(1, 40))) if draw.yes(0.3) else None
    over = off <= UNTIL
    tight = tight if tight is not None and fitted <= tight <= UNTIL else None
    return Worn(device.recipient, fitted, off if over else None, EndReason.OUTGROWN if over else None, tight)


def _incident(draw: Drawer) -> Happened:
    aware = draw.day(date(2022, 1, 1), UNTIL)
    serious = draw.one(False, True, None)
    by = aware + timedelta(days=15) if serious else None
    told = aware + timedelta(days=int(draw.chance.integers(1, 25))) if serious and draw.yes(0.8) else None
    kind = IncidentKind(str(draw.one(*IncidentKind)))
    return Happened(kind, aware, None if serious is None else bool(serious), by, told, told)


def _notice(draw: Drawer) -> Noticed:
    opened = draw.day(date(2022, 1, 1), UNTIL)
    closed = opened + timedelta(days=int(draw.chance.exponential(40)))
    return Noticed(NoticeKind(str(draw.one(*NoticeKind))), opened, closed if closed <= UNTIL else None)


def _look(draw: Drawer) -> Look:
    due = draw.day(date(2022, 1, 1), UNTIL)
    done = due + timedelta(days=int(draw.chance.integers(-3, 30)))
    return Look(str(draw.one("two_weeks", "three_months")), str(draw.one(*SITES)), due, done if draw.yes(0.8) else None)


def _spent(draw: Drawer, recipient: int) -> Spent:
    fitted = draw.day(date(2022, 1, 1), UNTIL) if draw.yes(0.85) else None
    cents, hours = int(draw.chance.integers(100, 3000)), float(draw.chance.gamma(2, 5))
    return Spent(recipient, str(draw.one(*SITES)), None, fitted, cents, hours)


def _asked_after(draw: Drawer, recipient: int) -> AskedAfter:
    came_of = AskState(str(draw.one(AskState.ANSWERED, AskState.LOST, AskState.DECLINED)))
    return AskedAfter(recipient, str(draw.one("two_weeks", "three_months", "year_1")), came_of.label)


def _answered(draw: Drawer, recipient: int) -> Answered:
    return Answered(
        recipient=recipient,
        by=str(draw.one("a guardian", "the wearer")),
        comfort=int(draw.chance.integers(0, 11)) if draw.yes(0.9) else None,
        pain=str(draw.one("none", "a little", "a lot")),
        hours=float(draw.chance.integers(0, 13)),
        days=int(draw.chance.integers(0, 8)),
        recommend=str(draw.one("yes", "perhaps", "no")),
        used=True,
    )


def _goal(draw: Drawer, recipient: int) -> Attained:
    level = int(draw.chance.integers(-2, 3)) if draw.yes(0.7) else None
    return Attained(recipient, int(draw.chance.integers(1, 4)), level)
