"""What an event of a case's history is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Line:
    """One reading of a session, or one part of many; `href` is where to correct it."""

    text: str
    note: str = ""
    struck: bool = False
    href: str | None = None


@dataclass(frozen=True)
class Event:
    """Something that happened on a day, told in a sentence; `shape` is its mark (templates/_macros/words.html).

    `struck` says by whom and why it was struck through, empty if it was not; `lines` are so many of what `each_is`.
    """

    on: date
    shape: str
    what: str
    detail: str = ""
    href: str | None = None
    lines: tuple[Line, ...] = ()
    struck: str = ""
    each_is: str = "reading"
