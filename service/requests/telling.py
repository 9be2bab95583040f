"""Requests said in sentences: one on a list or a case page, and what was done to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from service.requests.rules import Asker
from service.requests.schemas import RequestEvent, RequestLine
from service.requests.triage import lately

_DONE: dict[str, tuple[str, str]] = {
    "asked": ("ring", "Asked for"),
    "placed": ("diamond", "Put in another place"),
    "promised": ("square", "Promised"),
    "asked back": ("half", "Asked back"),
    "answered back": ("half", "Answered"),
    "waits": ("bar", "The clock stands still"),
    "goes on": ("ring", "The clock goes on"),
    "moved": ("square", "The forecast moved the day"),
    "joined": ("diamond", "Took over another request"),
    "split": ("diamond", "Split in two"),
    "agreed": ("half", "Somebody makes it"),
    "answered": ("full", "Handed over"),
    "closed": ("cross", "Closed"),
}


@dataclass(frozen=True, slots=True)
class Told:
    """An event as `_macros/timeline.html` draws it; `lines` is always empty."""

    on: date
    shape: str
    what: str
    detail: str
    href: None = None
    struck: str = ""
    lines: tuple[()] = field(default=())


def told(event: RequestEvent) -> Told:
    """What was done, by whom, and why."""
    shape, what = _DONE.get(event.act, ("ring", event.act.capitalize()))
    said = [f"by {event.by}"]
    before_after = event.changes.get("needed_by") or event.changes.get("promised_on") or event.changes.get("place")
    if before_after is not None:
        before, after = before_after
        said.append(f"from {before} to {after}" if before and after else f"{after or 'taken back'}")
    if (why := event.changes.get("why")) and why[1]:
        said.append(str(why[1]))
    if (parts := event.changes.get("parts")) and parts[1]:
        said.append(f"request {event.changes['request'][1]} has {parts[1]}")
    elif event.act == "joined":
        said.append(f"request {event.changes['request'][1]}")
    return Told(event.at.date(), shape, what, "; ".join(said).rstrip("."))


def asked_in_words(request: RequestLine, today: date) -> str:
    """Return "asked on Saturday by the family", or when the forecast asked."""
    on = lately(request.asked_at.date(), today)
    by = {Asker.FAMILY: "the family", Asker.FORECAST: "the forecast"}.get(request.asker, request.asked_by)
    named = f"{request.asked_by}, for the family" if _is_named(request) else by
    return f"asked {on if on == 'today' else f'on {on}'} by {named}"


def _is_named(request: RequestLine) -> bool:
    return request.asker is Asker.FAMILY and request.asked_by != "the family"
