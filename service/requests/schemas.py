"""Commands and views of requests."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Side
from service.recipients.schemas import NO_CHOICE
from service.requests.rules import Asker, RequestKind, RequestState, WaitsFor, WhatHappened

Rank = Annotated[int, Field(ge=1, le=4, description="1 comes first.")]
Said = Annotated[str, Field(max_length=1000)]


class AskPart(Command):
    """A part that is needed: by the `place` of the one worn, or by its kind, with the digit if it is a finger."""

    place: Id | None = None
    kind: PartKind | None = None
    digit: Digit | None = None
    happened: WhatHappened = WhatHappened.BROKEN
    quantity: Annotated[int, Field(ge=1, le=50)] = 1
    colour: Annotated[Text, Field(max_length=100)] = ""
    words: Annotated[Text, Field(max_length=200)] = ""


class AskRequest(Command):
    """Something that is asked for; `words` are kept as they are.

    `device` may be left out where it is plain which one is meant. `usable` says whether the device can be used
    meanwhile (null: not known), `harm` whether it hurts or may hurt. `asker` is "family" where somebody writes down
    what the family said, by `asked_by`; left out, it is the one who sends it.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "case_number": "1000007",
                "kind": "replacement",
                "parts": [{"kind": "finger", "digit": "index", "happened": "broken"}],
                "words": "It snapped at the hinge when he fell.",
                "usable": False,
            }
        }
    )

    case_number: Annotated[Text, Field(max_length=40)]
    kind: RequestKind
    device: Id | None = None
    parts: list[AskPart] = Field(default=[], max_length=30)
    words: Text = ""
    colour: Annotated[Text, Field(max_length=100)] = ""
    usable: bool | None = None
    harm: bool = False
    asker: Literal["family"] | None = None
    asked_by: Line | None = None


class DecideTriage(Command):
    """Another place in triage than follows from the facts, and why; rank null takes the decision back."""

    model_config = ConfigDict(json_schema_extra={"example": {"rank": 1, "why": "His swimming camp begins on Monday."}})

    rank: Rank | None
    why: Text = ""


class AskBack(Command):
    """A question back to whoever asked; the clock stands still until it is answered, unless `waits_for` is null."""

    question: Line
    waits_for: WaitsFor | None = WaitsFor.FAMILY


class AnswerQuestion(Command):
    """The answer to a question; `answered_by` names who gave it, where somebody writes it down for them."""

    answer: Annotated[Text, Field(min_length=1)]
    answered_by: Line | None = None


class BeginWait(Command):
    """The clock stands still from today: who is waited for, and why."""

    waits_for: WaitsFor
    why: Line


class Promise(Command):
    """The day the family was promised it by; null takes the promise back."""

    on: Day | None


class JoinRequests(Command):
    """The request that is about the same and was asked first: it takes over what this one asks for."""

    into: Id


class SplitRequest(Command):
    """The parts (by their ids in this request) that become a request of their own."""

    parts: Annotated[list[Id], Field(min_length=1, max_length=30)]


class Settle(Command):
    """Why a request is closed."""

    why: Line


class MarkAnswered(Command):
    """What was asked for is handed over."""

    note: Annotated[Text, Field(max_length=1000)] = ""


class RequestFilter(Listing):
    """Which requests are wanted: those not settled, unless `state` is given.

    Every word of `q` begins a name, or is in the words of the request; digits are of the case number.
    `waits_for` is who is waited for.
    """

    q: Annotated[Text, Field(max_length=200)] = ""
    kind: Annotated[RequestKind | None, NO_CHOICE] = None
    state: Annotated[RequestState | None, NO_CHOICE] = None
    site: Annotated[Text | None, Field(max_length=20), NO_CHOICE] = None
    waits_for: Annotated[WaitsFor | None, NO_CHOICE] = None
    case_number: Annotated[Text | None, Field(max_length=40), NO_CHOICE] = None


class TriageView(View):
    """The place of a request, 1 (first) to 4, and why; `by` names who decided it, null if it follows from the facts."""

    rank: int
    why: str
    by: str | None


class RequestPartView(View):
    """A part that is asked for.

    `place` is that of the part worn; `version`, the scales, `material` and `colour` are of the one to be made: what is
    proposed in its place, null where nobody knows. `proposal` says it in a sentence.
    """

    id: int
    place: int | None
    kind: PartKind
    what: str
    digit: Digit | None
    side: Side | None
    happened: WhatHappened
    version: int | None
    version_name: str | None
    interface: str
    scale_across: float | None
    scale_along: float | None
    material: str
    colour: str
    quantity: int
    called: str
    proposal: str


class RequestLine(View):
    """A request in a list. `what` says it in words, `waits_for` who is waited for now, `waited_days` is its clock."""

    id: int
    case_number: str
    given_name: str
    family_name: str
    site: str
    site_name: str
    kind: RequestKind
    device: int | None
    side: Side | None
    purpose: str | None
    what: str
    asker: Asker
    asked_by: str
    asked_at: datetime
    words: str
    usable: bool | None
    harm: bool
    needed_by: date
    tight_on: date | None
    promised_on: date | None
    state: RequestState
    triage: TriageView
    waits_for: WaitsFor | None
    waits_since: date | None
    waited_days: int

    @property
    def is_late(self) -> bool:
        """Whether it was promised for an earlier day than it is needed by."""
        return self.promised_on is not None and self.promised_on > self.needed_by


class WaitView(View):
    """Days on which the clock stood still."""

    waits_for: WaitsFor
    why: str
    since: date
    until: date | None


class PhotoView(View):
    """A photograph, in pixels."""

    id: int
    width: int
    height: int
    added_at: datetime
    added_by: str


class QuestionView(View):
    """A question back, and its answer."""

    id: int
    question: str
    asked_at: datetime
    asked_by: str
    answer: str
    answered_at: datetime | None
    answered_by: str | None


class JoinedView(View):
    """A request about the same that was joined into this one, with its own words."""

    id: int
    asker: Asker
    asked_by: str
    asked_at: datetime
    words: str


class RequestEvent(View):
    """Something that was done to a request."""

    at: datetime
    by: str
    act: str
    changes: dict[str, list[str | int | bool | None]]


class RequestView(RequestLine):
    """Everything known of a request."""

    colour: str
    needed_why: str
    parts: list[RequestPartView]
    waits: list[WaitView]
    questions: list[QuestionView]
    photos: list[PhotoView]
    joined: list[JoinedView]
    joined_into: int | None
    split_from: int | None
    split_into: list[int]
    settled_at: datetime | None
    settled_by: str | None
    settled_why: str


class RequestCounts(View):
    """Of the requests not settled: how many, of each place in triage, and how many wait for the family."""

    all: int
    of_rank: dict[int, int]
    waiting_for_family: int
    overdue: int


class OpenPart(View):
    """A part to be made: `box_mm` is that of its version's file, before scaling, null without one."""

    id: int
    kind: PartKind
    what: str
    digit: Digit | None
    side: Side | None
    happened: WhatHappened
    quantity: int
    version: int | None
    version_name: str | None
    scale_across: float | None
    scale_along: float | None
    box_mm: tuple[float, float, float] | None
    volume_mm3: float | None
    material: str
    materials: list[str]
    nozzle_mm: float | None
    colour: str
