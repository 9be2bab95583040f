"""What is true of feeds without asking a database: an entry, and a calendar as RFC 5545 has it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from icalendar import Calendar, Event

BEHIND: Final = timedelta(days=30)
AHEAD: Final = timedelta(days=400)
"""Days so far back and ahead are told; what is older has no place in a calendar. Judgement."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A day, or the days until one (both included), with a sentence; `key` is the same for the same thing."""

    key: str
    on: date
    says: str
    path: str
    until: date | None = None


def as_calendar(entries: Iterable[Entry], *, name: str, base_url: str, now: datetime) -> bytes:
    """A calendar of whole days (`DTEND` is the day after the last, as the standard counts)."""
    calendar = Calendar()
    calendar.add("prodid", "-//Handspan//days that matter//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    host = base_url.partition("://")[2].partition("/")[0] or "handspan"
    for entry in sorted(entries, key=lambda each: (each.on, each.key)):
        event = Event()
        event.add("uid", f"{entry.key}@{host}")
        event.add("dtstamp", now)
        event.add("dtstart", entry.on)
        event.add("dtend", (entry.until or entry.on) + timedelta(days=1))
        event.add("summary", entry.says)
        event.add("url", base_url.rstrip("/") + entry.path)
        event.add("class", "PRIVATE")
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    written: bytes = calendar.to_ical()
    return written
