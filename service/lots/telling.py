"""What was done to a lot, said."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from service.lots.rules import LotState
from service.lots.schemas import LotEvent

_SHAPES = {"in_use": "full", "used_up": "bar", "held": "half", "withdrawn": "cross"}
_MOVED = {
    LotState.IN_USE: "Put back in use",
    LotState.USED_UP: "Used up",
    LotState.HELD: "Held",
    LotState.WITHDRAWN: "Withdrawn",
}
_FIELDS = {"latex_free": "free of latex", "skin_contact": "may touch the skin", "received_on": "received"}


@dataclass(frozen=True, slots=True)
class Told:
    """An event as `_macros/timeline.html` draws it; `lines` is always empty."""

    on: date
    shape: str
    what: str
    detail: str
    href: None = None
    struck: str = ""
    lines: list[None] = field(default_factory=list)


def told(event: LotEvent) -> Told:
    """The sentence for an event, without its full stop, and the one beside it: why, and by whom."""
    by = f"by {event.by}"
    if event.act == "moved":
        state = LotState(str(event.changes["state"][1]))
        return Told(event.at.date(), _SHAPES[state], _MOVED[state], f"{by}: {event.changes['why'][1]}")
    if event.act == "corrected":
        said = "; ".join(
            f"{_FIELDS.get(name, name.replace('_', ' '))}, {_said(before)} before, now {_said(now)}"
            for name, (before, now) in event.changes.items()
        )
        return Told(event.at.date(), "square", "Put right", f"{by}: {said}")
    return Told(event.at.date(), "ring", "Recorded", by)


def _said(value: object) -> str:
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float | int) else f"“{value}”" if value else "empty"
