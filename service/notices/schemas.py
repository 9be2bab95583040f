"""Commands and views of safety notices."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.notices.rules import Answer, NoticeKind, Todo
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Side
from service.recipients.schemas import NO_CHOICE


class NoticeAbout(Command):
    """What a notice is about: a part version, a lot, or what came off a printer between two days."""

    version: Id | None = None
    lot: Id | None = None
    printer: Id | None = None
    from_on: Day | None = None
    until_on: Annotated[Day | None, NO_CHOICE] = None


class OpenNotice(NoticeAbout):
    """A fault in a part version, a lot, or what came off a printer between two days; `why` is read by families."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"version": 7, "why": "The pin of this finger can come out and be swallowed."}}
    )

    todo: Todo = Todo.STOP
    why: Annotated[Text, Field(min_length=1, max_length=600)]


class AnswerNotice(Command):
    """What a family said when it was told; a coordinator writes down what was said on the telephone."""

    model_config = ConfigDict(json_schema_extra={"example": {"case_number": "100-001-3", "answer": "stopped"}})

    case_number: Line
    answer: Answer
    words: Text = ""


class SayOfNotice(Command):
    """What a family says for itself, with one tap."""

    answer: Answer


class CloseNotice(Command):
    """What came of a notice."""

    outcome: Annotated[Text, Field(min_length=1)]


class NoticeFilter(Listing):
    """Notices that are open, or all."""

    all: bool = False


class NoticeLine(View):
    """A notice, and how many devices still hold what it is about: at the actor's sites, and in all."""

    id: int
    kind: NoticeKind
    what: str
    todo: Todo
    why: str
    from_on: date | None
    until_on: date | None
    opened_at: datetime
    opened_by: str
    closed_at: datetime | None
    remaining: int
    remaining_everywhere: int


class AffectedPart(View):
    """An affected part in a device that is worn or kept as a spare."""

    part: int
    place: int | None
    socket: int | None
    kind: PartKind
    digit: Digit | None
    called: str
    version: int | None
    since: date


class AffectedDevice(View):
    """A device that still holds an affected part; how its family was told, and what it answered."""

    case_number: str
    given_name: str
    device: int
    side: Side
    purpose: str
    spare: bool
    parts: list[AffectedPart]
    told_at: datetime | None
    answer: Answer | None
    words: str
    answered_at: datetime | None
    request: int | None


class ReplacedCase(View):
    """A family that was told and wears no affected part any more."""

    case_number: str
    given_name: str
    answer: Answer | None
    answered_at: datetime | None


class AffectedBuild(View):
    """A build under way that would be affected."""

    build: int
    state: str
    volunteer_name: str | None
    what: str


class AffectedStock(View):
    """A lot of which something is left."""

    lot: int
    called: str
    state: str


class AffectedView(View):
    """Everything that a notice is about: worn now, made now, and left in stock."""

    items: list[AffectedDevice]
    replaced: list[ReplacedCase]
    builds: list[AffectedBuild]
    stock: list[AffectedStock]
    remaining: int
    elsewhere: int
    told: int
    answered: int


class NoticeView(NoticeLine):
    """All of a notice."""

    version: int | None
    lot: int | None
    printer: int | None
    closed_by: str | None
    outcome: str
    affected: AffectedView


class RequestsOpened(View):
    """The requests that were opened for what a notice is about, and those that were open before."""

    opened: list[int]
    open_before: list[int]
    not_asked: list[str]


class Concerned(View):
    """What a notice would be about, were it opened now: on every site, and how much of it at the actor's."""

    kind: NoticeKind
    what: str
    devices: int
    families: int
    elsewhere: int
    builds: int
    already: int | None


class NoticesOpen(View):
    """How many notices are open, and how many devices of the cases the actor may see still hold what they are about."""

    count: int
    remaining: int


class OwnNotice(View):
    """A notice that concerns a device of the family that asks; `answer` is what it said last."""

    id: int
    todo: Todo
    why: str
    answer: Answer | None
