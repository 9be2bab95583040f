"""What went wrong over the years, and the safety notices that are closed: `troubles.toml` as events."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

from seed_data.cast import Event, Person


def troubles(person: Person) -> list[Event]:
    """What was written by hand for one person, oldest first; what is of one day stays in its order."""
    return sorted(_told().get(person.name, ()), key=lambda event: -int(str(event["ago"])))


@cache
def _told() -> dict[str, list[Event]]:
    return tomllib.loads((Path(__file__).parent / "troubles.toml").read_text(encoding="utf-8"))
