"""Commands and views of hand-overs."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.devices.rules import EndReason
from service.devices.schemas import AddLimit, Plies
from service.gate.checklists import Result
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.recipients.rules import Side
from service.safety.rules import Sign


class DeliverBuild(Command):
    """It was given to somebody, at the door or by post; the day is today unless given."""

    model_config = ConfigDict(json_schema_extra={"example": {"on": "2026-03-12", "to": "the mother"}})

    on: Day | None = None
    to: Line
    by_post: bool = False


class CameOff(Command):
    """A part that came off, and why: as its device lists it, or a socket that is no part the register knows."""

    part: Id | None = None
    socket: Id | None = None
    why: EndReason
    note: Text = ""


class FittingChecks(Command):
    """What was found when it was put on; `words` say why something is not in order or does not apply.

    `worn_minutes` may be left out where the moment it was put on is on record.
    """

    on_and_off: Result
    gaping: Result
    movement: Result
    skin: Result
    worn_minutes: Annotated[int, Field(ge=0, le=24 * 60)] | None = None
    signs: Annotated[tuple[Sign, ...], Field(max_length=len(Sign))] = ()
    words: Text = ""


class NewDevice(Command):
    """A device that begins with this fitting; `replaces` is the one it takes over from."""

    purpose: Line = "everyday"
    side: Side | None = None
    replaces: Id | None = None


class FitBuild(Command):
    """It was put on and checked.

    `came_off` says why each part that it takes the place of came off, `moved` which parts went over from another
    device. A fitting in which something is not in order changes nothing that is worn, and sends the build back.
    `by_family` says that the family did it with the guided check, `on_the_phone` who was on the telephone with them.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "on": "2026-03-14",
                "came_off": [{"part": 31, "why": "outgrown"}],
                "moved": [],
                "checks": {
                    "on_and_off": "pass",
                    "gaping": "pass",
                    "movement": "pass",
                    "skin": "pass",
                    "worn_minutes": 20,
                },
                "cautions_acknowledged_by": "the mother",
                "socks": [3],
            }
        }
    )

    on: Day | None = None
    came_off: Annotated[tuple[CameOff, ...], Field(max_length=40)] = ()
    moved: Annotated[tuple[Id, ...], Field(max_length=40)] = ()
    checks: FittingChecks
    cautions_acknowledged_by: Line
    guardian_present: Text = ""
    socks: Plies = ()
    limits: Annotated[tuple[AddLimit, ...], Field(max_length=10)] = ()
    device: NewDevice | None = None
    by_family: bool = False
    on_the_phone: Text = ""
    confirmed: bool = False


class DeliveryView(View):
    """To whom it was given, and when."""

    on: date
    to: str
    by_post: bool
    logged_by: str


class FittingView(View):
    """A fitting that was begun or done."""

    put_on_at: datetime | None
    look_at: datetime | None
    fitted_on: date | None
    done_by: str | None
    by_family: bool
    on_the_phone: str
    guardian_present: str
    cautions_acknowledged_by: str


class HandOverView(View):
    """How far a build is on its way to the limb: `device` is that of the parts once they are in place."""

    build: int
    state: str
    device: int | None
    delivered: DeliveryView | None
    fitting: FittingView | None
    parts: list[int]


class FollowUpView(View):
    """A day on which somebody asks how it goes."""

    id: int
    build: int
    case_number: str
    given_name: str
    device: int
    name: str
    words: str
    due_on: date
    late: bool
