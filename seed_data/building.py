"""What was made for people and what stood in its way, and what trustees and notices said: `building.toml` as events."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

from seed_data.cast import Event, Person


def building(person: Person) -> list[Event]:
    """What was written by hand for one person, oldest first; what is of one day stays in its order."""
    return sorted(_told().get(person.name, ()), key=lambda event: -int(str(event["ago"])))


@cache
def _told() -> dict[str, list[Event]]:
    return tomllib.loads((Path(__file__).parent / "building.toml").read_text(encoding="utf-8"))
