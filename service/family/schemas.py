"""Commands and views of family links and of what families say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.family.rules import SaidKind, answer_by
from service.kit.schema import Command, Id, Text, View
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Purpose
from service.requests.rules import WhatHappened


class MakeLink(Command):
    """A link for a contact on record; with `send` they are told it, as they wish to be reached.

    Whatever link the contact had before ends. Without a contact it is for whoever you hand it to.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"contact": None, "send": False}})

    contact: Id | None = None
    send: bool = False


class GiveBirth(Command):
    """The month and year in which the wearer was born."""

    month: Annotated[int, Field(ge=1, le=12)]
    year: Annotated[int, Field(ge=1900, le=2200)]


class Say(Command):
    """Something a family says that is no request."""

    kind: SaidKind
    words: Annotated[Text, Field(max_length=1000)] = ""


class Stop(Command):
    """What a family takes back of what it agreed to."""

    purposes: Annotated[list[Purpose], Field(min_length=1)]
    words: Annotated[Text, Field(max_length=1000)] = ""


class MadeLink(View):
    """A new link. `url` is shown this once: only a hash of it is kept."""

    id: int
    url: str
    ends_at: datetime
    sent_to: str | None


class LinkView(View):
    """A link that was made; what it opens by is kept nowhere."""

    id: int
    contact: str | None
    made_at: datetime
    made_by: str
    ends_at: datetime
    revoked_at: datetime | None
    opened_at: datetime | None
    is_open: bool


class SaidView(View):
    """What a family said."""

    id: int
    kind: SaidKind
    words: str
    said_at: datetime
    said_by: str
    settled_at: datetime | None
    settled_by: str | None

    @property
    def answer_by(self) -> date | None:
        """The last day to answer what is asked about data; None for all else."""
        return answer_by(self.said_at.date()) if self.kind is SaidKind.DATA else None


@dataclass(frozen=True)
class Family:
    """Who came by a link: the wearer as the pages may name them, and nothing else."""

    link: int
    key_hash: str
    recipient: int
    case_number: str
    given_name: str
    birth_date: date
    language: str
    said_by: str


@dataclass(frozen=True)
class Closed:
    """The link opens nothing, or not now: `wait_minutes` is set while too many wrong ones were tried."""

    wait_minutes: int | None = None


@dataclass(frozen=True)
class SocksTold:
    """What a sock report means: months left as the last forecast has it, and whether a new socket is asked for."""

    months: int | None
    tight: bool
    next_asked: bool


class BrokenPart(Command):
    """A part, by its place where it is known, else by what it is."""

    place: Id | None = None
    kind: PartKind | None = None
    digit: Digit | None = None


class TellBroken(Command):
    """What broke, and what became of it, alike for all its parts; `usable` is whether the device can be used.

    No part is named for something that is not drawn; then `words` say what it is. No `colour` is that of now.
    """

    device: Id | None = None
    parts: tuple[BrokenPart, ...] = ()
    happened: WhatHappened = WhatHappened.BROKEN
    usable: bool
    colour: Annotated[Text, Field(max_length=100)] = ""
    words: Annotated[Text, Field(max_length=1000)] = ""
