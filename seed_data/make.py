"""Writes `register.json` from the cast: `python -m seed_data.make`."""

from __future__ import annotations

import json
from pathlib import Path

from seed_data.asking import asking
from seed_data.assembling import assembled
from seed_data.building import building
from seed_data.cast import Event, Person, read_cast
from seed_data.getting_on import getting_on, reasoned
from seed_data.library import library
from seed_data.measuring import sessions
from seed_data.paper import papers, particulars
from seed_data.past import past
from seed_data.shaping import shaped
from seed_data.stock import stock
from seed_data.troubles import troubles
from seed_data.turns import turns
from seed_data.volunteering import volunteering
from seed_data.wearing import fittings, worn

REGISTER = Path(__file__).parent / "register.json"

_ORDER = (  # on one day, what others refer to comes first
    "registered",
    "changed",
    "suitability",
    "helper",
    "measured",
    "shape",
    "socket_version",
    "device",
    "setting",
    "socket",
    "socket_printed",
    "parts_off",
    "part_moved",
    "parts",
    "socks",
)


def story(person: Person) -> list[Event]:
    """All that happened to one person, oldest first."""
    events = [particulars(person), *papers(person), *worn(person)]
    if person.state != "enquiry":
        events += sessions(person, fittings(person))
    events += [*assembled(person, events), *turns(person), *asking(person), *building(person), *troubles(person)]
    told = shaped(person, events)
    lived = reasoned([*told, *past(person, told)])
    return sorted([*lived, *getting_on(person, lived)], key=_when)


def register() -> str:
    """The whole file: the library, the lots, the volunteers, then a line for each person, so a changed story is one."""
    told = (library(), stock(), volunteering(), *(story(person) for person in read_cast()))
    lines = (json.dumps(each, ensure_ascii=False, separators=(",", ":")) for each in told)
    return "[\n" + ",\n".join(lines) + "\n]\n"


def _when(event: Event) -> tuple[int, int]:
    what = str(event["what"])
    return -int(str(event["ago"])), _ORDER.index(what) if what in _ORDER else len(_ORDER)


if __name__ == "__main__":
    REGISTER.write_text(register(), encoding="utf-8")
