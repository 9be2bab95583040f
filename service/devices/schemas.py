"""Commands and views of devices, sockets in place, sock reports and control settings."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, ConfigDict, Field, StrictInt

from service.anthropometry.dimensions import Dimension
from service.devices.rules import EndReason, Fit, StoppedWhy, Use
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.measurements.schemas import StruckView
from service.recipients.rules import Side

Plies = Annotated[
    tuple[StrictInt, ...],
    Field(max_length=50, description="The ply on the label of each sock worn together: 1, 2, 3 or 5. Empty: no sock."),
]
Millimetres = Annotated[float, Field(description="mm")]


class AddDevice(Command):
    """A device for one side and purpose.

    `replaces` names the device it takes over from: its newest control settings are copied to the new one, and it
    becomes stopped or spare, as `replaced_becomes` says.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"purpose": "everyday", "side": "left"}})

    purpose: Line
    side: Side
    note: Text = ""
    replaces: Id | None = None
    replaced_becomes: Literal[Use.STOPPED, Use.SPARE] = Use.STOPPED


class ChangeDevice(Command):
    """New particulars of a device; what is left out stays. To stop it, say why; the day is today unless given.

    `stopped_why` is one of few reasons, `stopped_reason` says it in words; another reason needs the words.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {"use": "stopped", "stopped_why": "better_without", "stopped_reason": "prefers to go without"}
        }
    )

    purpose: Line | None = None
    note: Text | None = None
    use: Use | None = None
    stopped_why: StoppedWhy | None = None
    stopped_reason: Text | None = None
    stopped_on: Day | None = None


class AddLimit(Command):
    """The bare-limb size at which a socket is tight; a girth says at which level. Without a side, the device's."""

    dimension: Dimension
    side: Side | None = None
    level_mm: Millimetres | None = None
    tight_at_mm: Millimetres


def _at_least_one(limits: tuple[AddLimit, ...]) -> tuple[AddLimit, ...]:
    # Not a minimal length: that would complain about the number as well whenever one limit is wrong.
    if not limits:
        raise ValueError("Give at least one limit: without it no forecast can be made")
    return limits


class EndPrevious(Command):
    """Why the socket that was in place came off; the day is that of the new fitting unless given.

    With the reason "mistake" it is struck through instead, today, and `note` must say what was wrong with it.
    """

    end_reason: EndReason
    ended_on: Day | None = None
    note: Text = ""


class AddSocket(Command):
    """A socket that was fitted. If another is in place, `previous` ends it in the same act.

    `confirmed` stores limits that were doubted, with the doubts.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "fitted_on": "2026-01-12",
                "limits": [
                    {"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 209.8},
                    {"dimension": "residual_limb_length", "tight_at_mm": 131},
                ],
                "socks_at_fitting": [3],
            }
        }
    )

    fitted_on: Day
    limits: Annotated[tuple[AddLimit, ...], AfterValidator(_at_least_one), Field(max_length=20)]
    socks_at_fitting: Plies = ()
    note: Text = ""
    previous: EndPrevious | None = None
    confirmed: bool = False


class EndSocket(Command):
    """A socket came off for good; the day is today unless given.

    With the reason "mistake" it never was in place: it is struck through, whether or not it came off since, and counts
    no more; then `note` must say what was wrong with it.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"ended_on": "2026-02-20", "end_reason": "outgrown"}})

    ended_on: Day | None = None
    end_reason: EndReason
    note: Text = ""


class PutBack(Command):
    """A socket that is on record as having come off is worn after all."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "The new socket was recorded by mistake."}})

    why: Line


class ReportSocks(Command):
    """Which socks were worn together on a day, and how the socket felt with them.

    `device` may be left out when exactly one device is in use.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"on": "2026-02-20", "plies": [3, 1], "fit": "snug"}})

    on: Day
    device: Id | None = None
    plies: Plies
    fit: Fit
    note: Text = ""


class StrikeReport(Command):
    """Strike a sock report through: it stays on record and counts no more."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "These were the other device's socks."}})

    why: Line


class AddSetting(Command):
    """One control setting of a powered device as set on a day; names and units are your own."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"set_on": "2026-02-20", "name": "grip strength", "value": "40", "unit": "%"}}
    )

    set_on: Day
    name: Line
    value: Line
    unit: Text = ""
    note: Text = ""


class LimitView(View):
    """A limit; sizes in mm. `doubts` says what was surprising about it when somebody confirmed it."""

    dimension: Dimension
    side: Side | None
    level_mm: float | None
    tight_at_mm: float
    doubts: list[str]


class SocketView(View):
    """A socket and its limits; `ended_on` null means it is in place.

    One with the end reason "mistake" never was: `ended_by` struck it through, `end_note` says why.
    """

    id: int
    device: int
    fitted_on: date
    socks_at_fitting: list[int]
    note: str
    limits: list[LimitView]
    ended_on: date | None
    end_reason: EndReason | None
    end_note: str
    ended_by: str | None

    @property
    def mistaken(self) -> bool:
        """Whether it was recorded by mistake, and counts no more."""
        return self.end_reason is EndReason.MISTAKE


class SettingView(View):
    """A control setting; `current` marks the newest of its name."""

    id: int
    set_on: date
    name: str
    value: str
    unit: str
    note: str
    current: bool


class DeviceView(View):
    """A device, with the socket in place or null."""

    id: int
    purpose: str
    side: Side
    use: Use
    stopped_on: date | None
    stopped_why: StoppedWhy | None
    stopped_reason: str
    note: str
    replaces: int | None
    socket: SocketView | None


class DeviceHistory(DeviceView):
    """A device with every socket it had, newest first, and every setting, newest first."""

    sockets: list[SocketView]
    settings: list[SettingView]


class SockReportView(View):
    """A sock report."""

    id: int
    device: int
    socket: int
    purpose: str
    on: date
    plies: list[int]
    fit: Fit
    note: str
    recorded_by: str
    recorded_at: datetime
    struck: StruckView | None


class WornSocket(View):
    """A socket in place of a device in use, as higher rooms need it; `reports` are those of it that count."""

    recipient: int
    device: int
    purpose: str
    side: Side
    socket: int
    fitted_on: date
    socks_at_fitting: list[int]
    limits: list[LimitView]
    reports: list[SockReportView]
