"""Writes `register.json` from the cast: `python -m seed_data.make`."""

from __future__ import annotations

import json
from pathlib import Path

from seed_data.cast import Event, Person, read_cast
from seed_data.measuring import sessions
from seed_data.paper import papers, particulars
from seed_data.wearing import fittings, worn

REGISTER = Path(__file__).parent / "register.json"

_ORDER = (  # on one day, what others refer to comes first
    "registered",
    "changed",
    "suitability",
    "helper",
    "measured",
    "device",
    "setting",
    "socket",
    "socks",
)


def story(person: Person) -> list[Event]:
    """All that happened to one person, oldest first."""
    events = [particulars(person), *papers(person), *worn(person)]
    if person.state != "enquiry":
        events += sessions(person, fittings(person))
    return sorted(events, key=_when)


def register() -> str:
    """The whole file: one line for each person, so that a change of one story is a change of one line."""
    lines = (json.dumps(story(person), ensure_ascii=False, separators=(",", ":")) for person in read_cast())
    return "[\n" + ",\n".join(lines) + "\n]\n"


def _when(event: Event) -> tuple[int, int]:
    what = str(event["what"])
    return -int(str(event["ago"])), _ORDER.index(what) if what in _ORDER else len(_ORDER)


if __name__ == "__main__":
    REGISTER.write_text(register(), encoding="utf-8")
