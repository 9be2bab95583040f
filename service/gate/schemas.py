"""Commands and views of the gate."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.builds.rules import BuildState
from service.gate.blocks import BlockCode
from service.gate.checklists import CheckKind, Result
from service.gate.site_rules import SiteRule
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.parts.answers import FeatureAtScale
from service.parts.schemas import PrintSettings
from service.recipients.rules import Side
from service.safety.rules import Sign


class MoveBuild(Command):
    """A build goes to another state; sent back or dropped it needs a reason."""

    model_config = ConfigDict(json_schema_extra={"example": {"to": "making"}})

    to: BuildState
    why: Text = ""


class AddFinding(Command):
    """What was found: in order, not in order, or why it does not apply; a measured value in the unit of its limit."""

    item: Annotated[str, Field(max_length=40)]
    result: Result
    value: Annotated[float, Field(ge=-1000, le=100_000)] | None = None
    why: Text = ""


class SignCheck(Command):
    """A check with all its findings, signed by whoever sends it; the day is today unless given."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"kind": "bench", "findings": [{"item": "sharp_edges", "result": "pass"}]}}
    )

    kind: CheckKind
    findings: Annotated[tuple[AddFinding, ...], Field(max_length=60)]
    signs: Annotated[tuple[Sign, ...], Field(max_length=len(Sign), description="What is seen on the skin.")] = ()
    on: Day | None = None
    remarks: Text = ""


class Accept(Command):
    """A clinician accepts one block of a build, in writing."""

    code: BlockCode
    words: Annotated[Text, Field(min_length=1)]


class RecordRule(Command):
    """What the trustees of a site decided: its words, who of them signed it, and when."""

    site: Line
    rule: SiteRule
    words: Annotated[Text, Field(min_length=20)]
    trustee: Line
    decided_on: Day


class EndRule(Command):
    """From a day on, today unless given, a rule holds no more."""

    on: Day | None = None


class SetLimit(Command):
    """A site's own limit of a measured finding, with where it is from."""

    site: Line
    item: Line
    value: Annotated[float, Field(gt=0, le=100_000)]
    source: Line


class BlockView(View):
    """What stands in the way of a build, what alone lifts it, and the first move it stops."""

    code: BlockCode
    why: str
    lifted_by: str
    stops: str


class BlocksView(View):
    """All that stands in the way of a build, whichever move it stops."""

    items: list[BlockView]


class LiftView(View):
    """A line of the table of what blocks, and what alone lifts it."""

    code: BlockCode
    about: str
    lifted_by: str
    stops: str


class LimitView(View):
    """A number that a finding is held against, with where it is from."""

    item: str
    value: float
    unit: str
    at_least: bool
    words: str
    source: str


class AskedView(View):
    """A finding that a check asks for."""

    item: str
    label: str
    asks: str
    because: str
    limit: LimitView | None
    may_not_apply: bool


class FindingView(View):
    """What was found."""

    item: str
    result: Result
    value: float | None
    limit: str
    why: str


class CheckView(View):
    """A signed check."""

    id: int
    kind: CheckKind
    round: int
    passed: bool
    on: date
    signed_at: datetime
    signed_by: str
    remarks: str
    findings: list[FindingView]


class ChecksView(View):
    """The checks of a build, oldest first, and what each kind of check asks for as the build is now."""

    items: list[CheckView]
    asked: dict[CheckKind, list[AskedView]]


class AcceptanceView(View):
    """A clinician's written word."""

    code: BlockCode
    words: str
    accepted_at: datetime
    accepted_by: str


class FirstTimeView(View):
    """Of a volunteer's builds that came to a bench check, how many passed the first: a share with its 95 % interval.

    `passed_first` is (share, low, high) by Wilson, null where none was checked.
    """

    volunteer: int
    checked: int
    passed: int
    passed_first: tuple[float, float, float] | None


class RuleView(View):
    """What a site's trustees recorded."""

    id: int
    site: str
    rule: SiteRule
    words: str
    trustee: str
    decided_on: date
    recorded_by: str
    ended_on: date | None


class GateView(View):
    """What the gate says of a build; of the blocks, those stop its next step that are among `now`."""

    build: Id
    state: BuildState
    blocks: list[BlockView]
    now: list[BlockView]
    checks: list[CheckView]
    acceptances: list[AcceptanceView]
    moves: list[BuildState]


class CardItem(View):
    """A part on the card of a build; without `version` it is bought. `size_mm` is its box as scaled.

    `fingerprint` is the beginning of the file's SHA-256. `grams` and `hours` are estimates of one.
    """

    called: str
    what: str
    side: Side | None
    material: str
    colour: str
    quantity: int
    spare: bool
    version: int | None = None
    version_name: str = ""
    fingerprint: str = ""
    scale_across: float | None = None
    scale_along: float | None = None
    size_mm: tuple[float, float, float] | None = None
    settings: PrintSettings | None = None
    grams: float | None = None
    hours: float | None = None
    features: tuple[FeatureAtScale, ...] = ()
    thin_wall: str = ""
    may_be_small: bool = False


class ToCheck(View):
    """A finding that the bench check will ask for; why it is asked is not for a card."""

    label: str
    asks: str
    limit: str


class CardView(View):
    """What is on the bench beside a build while it is made; nothing of it says whom it is for."""

    build: int
    round: int
    state: BuildState
    deadline: date
    items: list[CardItem]
    warnings: list[str]
    checks: list[ToCheck]
