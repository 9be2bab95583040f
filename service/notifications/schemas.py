"""Commands and views of messages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Protocol

from pydantic import ConfigDict, Field

from service.kit.paging import Listing
from service.kit.schema import Command, Line, Text, View
from service.notifications.rules import QUIET_FROM, QUIET_UNTIL, Channel, MessageState
from service.recipients.rules import Reach
from service.recipients.schemas import NO_CHOICE

Hour = Annotated[int, Field(ge=0, le=23)]


class Reachable(Protocol):
    """Whoever can be told something: a family contact is one as it stands."""

    @property
    def name(self) -> str:
        """Whom to ask for."""

    @property
    def email(self) -> str:
        """Empty if there is none."""

    @property
    def phone(self) -> str:
        """Empty if there is none."""

    @property
    def address(self) -> str:
        """Empty if there is none."""

    @property
    def reach_by(self) -> Reach:
        """As they wish it."""


@dataclass(frozen=True)
class Person:
    """Somebody to tell something. With an account, their own quiet hours, digest and wishes are kept."""

    name: str
    email: str = ""
    phone: str = ""
    address: str = ""
    reach_by: Reach = Reach.MAIL
    account_id: int | None = None


class MessageFilter(Listing):
    """Which messages are wanted; `to_do` are the calls and letters to make, and mail that did not get through."""

    state: Annotated[MessageState | None, NO_CHOICE] = None
    channel: Annotated[Channel | None, NO_CHOICE] = None
    to_do: bool = False


class SettleMessage(Command):
    """That somebody was told, or need not be; with a word on how it went."""

    model_config = ConfigDict(json_schema_extra={"example": {"note": "Spoke to the grandmother; she will pass it on."}})

    note: Text = ""


class DropMessage(Command):
    """That somebody need not be told any more, and why."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "They rang us first."}})

    why: Line


class KeepWishes(Command):
    """When and how to be written to: quiet hours, one digest a week (Monday is 0) or each message, or none at all.

    What is urgent comes at once all the same.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"quiet_from": 21, "quiet_until": 7, "digest_day": 0}})

    quiet_from: Hour = QUIET_FROM
    quiet_until: Hour = QUIET_UNTIL
    digest_day: Annotated[int | None, Field(ge=0, le=6)] = None
    wants_mail: bool = True


class WishesView(View):
    """What somebody wants to hear, as it stands."""

    quiet_from: int
    quiet_until: int
    digest_day: int | None
    wants_mail: bool


class MessageLine(View):
    """A message in a list. `due_at` is when it goes out, or by when a call is to be made.

    `language` is that of the family's words in it; `in_english` is the subject of one that is in another, else empty.
    """

    id: int
    channel: Channel
    to_name: str
    to_address: str
    subject: str
    language: str
    in_english: str
    urgent: bool
    state: MessageState
    due_at: datetime
    written_at: datetime
    case_number: str | None
    site_name: str
    problem: str


class MessageView(MessageLine):
    """A whole message. Secret addresses in it are shown only while somebody has to write them on a letter."""

    body: str
    tries: int
    settled_at: datetime | None
    settled_by: str | None


class ToDo(View):
    """How many people somebody has to ring or write to, how many of them at once, and the first of them."""

    count: int
    urgent: int
    items: list[MessageLine]
