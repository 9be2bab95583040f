"""What figures are made from: one frozen record a person or thing, as it was on the last day of a sheet.

They hold no name and no case number; `recipient` and `device` are ids that only tell things of one person together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

from service.devices.rules import EndReason
from service.notices.rules import NoticeKind
from service.recipients.rules import Cause, Level, Sex
from service.requests.rules import RequestKind, RequestState
from service.safety.rules import IncidentKind

PASSIVE, BODY_POWERED, EXTERNALLY_POWERED = "passive", "body-powered", "externally powered"
"""What moves a device."""

WITHIN, EARLY, LATE, OTHERWISE = (
    "within its range",
    "before its range",
    "after its range",
    "came off for another reason",
)
FOUND = (WITHIN, EARLY, LATE, OTHERWISE)
"""When a socket was found outgrown, by the range that was forecast."""


class Person(NamedTuple):
    """Who somebody is, as far as figures are cut by it; `km` is from their town to their site's, None if unknown.

    `counted`: they, or who speaks for them, agreed to be in figures that name nobody.
    """

    site: str
    born: date
    sex: Sex
    language: str
    km: float | None
    counted: bool


class Device(NamedTuple):
    """A device from the day it was first worn. `heard_on`: when anybody last told or read anything of it.

    `level` and `cause` are of the limb; `drive` is passive, body-powered or externally powered. `known_from` is the day
    the register learned of it.
    """

    id: int
    recipient: int
    level: Level | None
    cause: Cause | None
    drive: str
    begun_on: date
    stopped_on: date | None
    why: str
    heard_on: date
    known_from: date


class Asked(NamedTuple):
    """A request; `waited` days of its clock stood still, `by` is the day it was promised or needed for."""

    recipient: int
    kind: RequestKind
    state: RequestState
    asked_on: date
    settled_on: date | None
    by: date
    waited: int


class Stay(NamedTuple):
    """A printed part in place: `since` to `until` (None: still there). `age` is the days it was worn elsewhere before.

    `known_from` is the day the register learned of it: until then it could not have been seen to break.
    """

    design: str
    version: int
    device: int
    since: date
    until: date | None
    came_off: EndReason | None
    age: int
    known_from: date


class Worn(NamedTuple):
    """A socket in place and the first day somebody reported it tight or a reading met its limit."""

    recipient: int
    fitted_on: date
    ended_on: date | None
    why: EndReason | None
    tight_on: date | None


class Happened(NamedTuple):
    """An incident, and what became of it."""

    kind: IncidentKind
    aware_on: date
    serious: bool | None
    report_by: date | None
    reported_on: date | None
    closed_on: date | None


class Noticed(NamedTuple):
    """A safety notice."""

    kind: NoticeKind
    opened_on: date
    closed_on: date | None


class Look(NamedTuple):
    """A follow-up check that was due, and when it was signed."""

    name: str
    site: str
    due_on: date
    done_on: date | None


class Spent(NamedTuple):
    """What the prints of one build took, money in cents."""

    recipient: int
    site: str
    device: int | None
    fitted_on: date | None
    cents: int
    hours: float


class Judged(NamedTuple):
    """A forecast made three months before its socket came off: the model, and whether the day fell within its range."""

    recipient: int
    model: str
    found: str


class AskedAfter(NamedTuple):
    """A follow-up that was due, and what came of it, in words."""

    recipient: int
    name: str
    came_of: str


class Answered(NamedTuple):
    """What was said last about a device; None is a question that was left out. Hours are hours a day."""

    recipient: int
    by: str
    comfort: int | None
    pain: str | None
    hours: float | None
    days: int | None
    recommend: str | None
    used: bool | None


class Attained(NamedTuple):
    """A goal of a recipient, and the level it reached by its last score, -2 to 2; None: not scored yet."""

    recipient: int
    weight: int
    level: int | None


@dataclass(frozen=True)
class Facts:
    """Everything a sheet is made from; `people` by id, the rest in no order."""

    until: date
    people: dict[int, Person]
    devices: list[Device]
    requests: list[Asked]
    stays: list[Stay]
    sockets: list[Worn]
    incidents: list[Happened]
    notices: list[Noticed]
    looks: list[Look]
    spent: list[Spent]
    judged: list[Judged]
    asked: list[AskedAfter]
    answers: list[Answered]
    goals: list[Attained]

    def of_those_who_agreed(self) -> Facts:
        """The same without whoever did not agree to be counted; incidents, notices and checks are everybody's."""

        def agreed(recipient: int) -> bool:
            return self.people[recipient].counted

        devices = [each for each in self.devices if agreed(each.recipient)]
        theirs = {each.id for each in devices}
        return replace(
            self,
            devices=devices,
            stays=[each for each in self.stays if each.device in theirs],
            requests=[each for each in self.requests if agreed(each.recipient)],
            sockets=[each for each in self.sockets if agreed(each.recipient)],
            spent=[each for each in self.spent if agreed(each.recipient)],
            judged=[each for each in self.judged if agreed(each.recipient)],
            asked=[each for each in self.asked if agreed(each.recipient)],
            answers=[each for each in self.answers if agreed(each.recipient)],
            goals=[each for each in self.goals if agreed(each.recipient)],
        )

    @property
    def sites(self) -> tuple[str, ...]:
        """Every site, by name."""
        return tuple(sorted({person.site for person in self.people.values()}))
