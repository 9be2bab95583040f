"""Commands and views of builds. Hours are of printing, money is in the currency of the site."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from service.builds.rules import BuildState, FailedWhy
from service.geometry.answers import Scale
from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.lots.rules import LotState
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Side
from service.recipients.schemas import NO_CHOICE

Several = Annotated[int, Field(ge=1, le=50)]
Amount = Annotated[float, Field(ge=0, le=100_000)]
Hours = Annotated[float, Field(ge=0, le=500, description="hours of printing")]
Money = Annotated[float, Field(ge=0, le=100_000, description="in the currency of the site")]


class ChooseItem(Command):
    """A part that is to be made, printed when it has a `version`, or bought; scales are factors of the file.

    `place` is that of the part it takes the place of.
    """

    version: Id | None = None
    kind: PartKind | None = None
    what: Text = ""
    digit: Digit | None = None
    side: Side | None = None
    scale_across: Scale = 1.0
    scale_along: Scale | None = None
    material: Text = ""
    colour: Text = ""
    quantity: Several = 1
    spare: bool = False
    place: Id | None = None


class OpenBuild(Command):
    """Begin what answers a request; without `items` they are those the request names, as versions stand today."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {"request": 12, "volunteer": 3, "items": [{"version": 7, "scale_across": 1.05, "place": 31}]}
        }
    )

    request: Id
    volunteer: Id | None = None
    printer: Id | None = None
    deadline: Day | None = None
    items: Annotated[tuple[ChooseItem, ...], Field(max_length=40)] | None = None
    remarks: Text = ""


class ChooseItems(Command):
    """What is to be made, instead of what was chosen; only while nothing is printed."""

    items: Annotated[tuple[ChooseItem, ...], Field(min_length=1, max_length=40)]


class ChangeBuild(Command):
    """Who makes it, on which printer, by when, and remarks; what is left out stays."""

    volunteer: Id | None = None
    printer: Id | None = None
    deadline: Day | None = None
    remarks: Text | None = None


class UsedLot(Command):
    """Of which lot, and how much, in what the lot is counted in."""

    lot: Id
    amount: Amount | None = None


class LogPrint(Command):
    """One go at an item: it came out, or why it failed. `press` marks a form, so that one sent twice counts once."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"item": 4, "lots": [{"lot": 12}], "hours": 1.5, "grams": 14}}
    )

    item: Id
    printer: Id | None = None
    on: Day | None = None
    quantity: Several = 1
    failed: FailedWhy | None = None
    lots: Annotated[tuple[UsedLot, ...], Field(max_length=10)] = ()
    hours: Hours | None = None
    grams: Amount | None = None
    cost: Money | None = None
    remarks: Text = ""
    press: Annotated[str, Field(min_length=8, max_length=64)] | None = None


class DiscardPrint(Command):
    """What came out is not in the build any more, and why: it broke on the bench, or is made anew."""

    why: Line


class UseLots(Command):
    """The lots that a bought item is from."""

    item: Id
    lots: Annotated[tuple[UsedLot, ...], Field(min_length=1, max_length=10)]


class BuildFilter(Listing):
    """Builds in a state, of a case, or of a volunteer; without a state, those that are not over."""

    state: Annotated[BuildState | None, NO_CHOICE] = None
    case_number: Annotated[str | None, NO_CHOICE] = None
    request: Annotated[Id | None, NO_CHOICE] = None
    ever: bool = False


class LotView(View):
    """A lot that something is made from."""

    lot: int
    called: str
    state: LotState
    amount: float | None
    unit: str


class PrintView(View):
    """One go at an item."""

    id: int
    item: int
    printer: int | None
    printer_name: str | None
    round: int
    quantity: int
    failed: FailedWhy | None
    discarded: str | None
    hours: float | None
    grams: float | None
    cost: float | None
    remarks: str
    on: date
    by: str
    lots: list[LotView]


class ItemView(View):
    """A part to be made, and how many of it came out and are in it."""

    id: int
    place: int | None
    kind: PartKind
    called: str
    what: str
    digit: Digit | None
    side: Side | None
    version: int | None
    version_name: str | None
    scale_across: float | None
    scale_along: float | None
    scale_words: str
    material: str
    colour: str
    quantity: int
    spare: bool
    came_out: int
    lots: list[LotView]


class MoveView(View):
    """A move, with who made it and when."""

    came_from: BuildState
    to: BuildState
    why: str
    at: datetime
    by: str


class BuildLine(View):
    """A build in a list; `case_number` is null for who may not see the case."""

    id: int
    request: int
    state: BuildState
    since: datetime
    what: str
    side: Side | None
    case_number: str | None
    given_name: str | None
    volunteer: int | None
    volunteer_name: str | None
    deadline: date
    late: bool


class BuildView(BuildLine):
    """All of a build; `mine` if the actor made of it, so signs no bench check, `runs` if it is theirs to move."""

    site: str
    device: int | None
    printer: int | None
    printer_name: str | None
    round: int
    remarks: str
    items: list[ItemView]
    prints: list[PrintView]
    moves: list[MoveView]
    missing: list[str]
    hours: float
    grams: float
    cost: float
    failed_prints: int
    mine: bool
    runs: bool


class SumsFilter(Command):
    """By what to sum, and of which days of printing."""

    by: Literal["site", "month", "recipient", "device", "build"] = "month"
    since: Annotated[Day | None, NO_CHOICE] = None
    until: Annotated[Day | None, NO_CHOICE] = None


class SumsView(View):
    """What prints of one site, month, recipient, device or build took together."""

    of: str
    builds: int
    prints: int
    failed: int
    hours: float
    grams: float
    cost: float


class Sums(View):
    """Sums, each of one; a print without hours, grams or cost counts as none of them."""

    by: str
    items: list[SumsView]


class StockView(View):
    """A lot with what builds took of it, in its own unit; `left` is null where nobody said how much came in."""

    lot: int
    called: str
    state: LotState
    unit: str
    received: float | None
    used: float
    left: float | None
