"""What is true of messages without asking a database."""

from __future__ import annotations

import enum
import re
from collections.abc import Mapping
from datetime import datetime, time, timedelta
from types import MappingProxyType
from typing import Final

from service.recipients.rules import Reach


class Channel(enum.StrEnum):
    """How somebody is reached."""

    MAIL = "mail"
    CALL = "call"
    LETTER = "letter"


class MessageState(enum.StrEnum):
    """Where a message stands."""

    WAITING = "waiting"
    SENT = "sent"
    DONE = "done"
    FAILED = "failed"
    DROPPED = "dropped"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value


QUIET_FROM: Final = 20
QUIET_UNTIL: Final = 8
"""Hours of the day between which nobody is written to who did not say otherwise; judgement."""

DIGEST_HOUR: Final = 9
"""When a week's digest goes out on its day."""

WAITS: Final = (
    timedelta(minutes=1),
    timedelta(minutes=10),
    timedelta(hours=1),
    timedelta(hours=6),
    timedelta(hours=24),
)
"""How long a mail that did not get through waits before each further try; after the last it is for a person."""

NO_WAY_WAIT: Final = timedelta(hours=1)
"""How long mail waits while nobody has set up a way to send it: that is no try."""

_CHANNELS: Final[Mapping[Reach, Channel]] = MappingProxyType(
    {Reach.MAIL: Channel.MAIL, Reach.TEXT: Channel.CALL, Reach.PHONE: Channel.CALL, Reach.LETTER: Channel.LETTER}
)
_SECRET = re.compile(r"(?m)(/[a-z-]+/)[A-Za-z0-9_.-]{24,}")
_PATH_ALONE = re.compile(r"(?m)^(/\S+)$")


def channel_for(reach_by: Reach, *, email: str, phone: str, address: str) -> tuple[Channel, str]:
    """How to reach somebody as they wish, or else as can be done: the channel, and the address or number for it.

    Nobody is left in silence: with nothing known it is a call, to a number that somebody has to find.
    """
    known = {Channel.MAIL: email, Channel.CALL: phone, Channel.LETTER: address}
    order = (_CHANNELS[reach_by], Channel.MAIL, Channel.CALL, Channel.LETTER)
    found = next((each for each in order if known[each].strip()), Channel.CALL)
    return found, known[found].strip()


def after_quiet(moment: datetime, quiet_from: int = QUIET_FROM, quiet_until: int = QUIET_UNTIL) -> datetime:
    """The moment itself, or the end of the quiet hours it lies in (whole hours, local; equal ones are none)."""
    hour = moment.hour
    begun, over = hour >= quiet_from, hour >= quiet_until
    over_night = quiet_from > quiet_until
    if not (begun or not over if over_night else begun and not over):
        return moment
    ends = datetime.combine(moment.date(), time(quiet_until % 24), moment.tzinfo)
    return ends if ends > moment else ends + timedelta(days=1)


def next_digest(moment: datetime, weekday: int) -> datetime:
    """When the next digest goes out: on a weekday (Monday is 0), in the morning."""
    at = datetime.combine(moment.date(), time(DIGEST_HOUR), moment.tzinfo)
    at += timedelta(days=(weekday - at.weekday()) % 7)
    return at if at > moment else at + timedelta(days=7)


def next_try(tries: int, now: datetime) -> datetime | None:
    """When to try again after so many tries that did not get through; None when a person has to see to it."""
    return now + WAITS[tries - 1] if tries <= len(WAITS) else None


def without_secrets(text: str) -> str:
    """A text in which no secret address can be used: what follows its first word is replaced by dots."""
    return _SECRET.sub(r"\1…", text)


def with_addresses(text: str, base_url: str) -> str:
    """A text in which a line that is only a path has become a whole address that can be followed."""
    return _PATH_ALONE.sub(base_url.rstrip("/") + r"\1", text)


def settle_problem(state: MessageState, channel: Channel) -> str | None:
    """Why a message cannot be marked as done by hand, or None: a call, a letter, or a mail that did not get through."""
    if state is MessageState.DONE:
        return "Somebody has done this already. There is nothing to do."
    if state is MessageState.SENT:
        return "This was sent by mail. There is nothing to do."
    if state is MessageState.DROPPED:
        return "This was dropped, so it need not be told any more."
    if state is MessageState.WAITING and channel is Channel.MAIL:
        return "This goes by mail by itself. If they were told meanwhile, drop it."
    return None
