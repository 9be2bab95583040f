"""What families and others asked for of late, what they said, and what came of it: `asking.toml` as events."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

from seed_data.cast import Event, Person


def asking(person: Person) -> list[Event]:
    """What was written by hand for one person, oldest first."""
    return sorted(_told().get(person.name, ()), key=lambda event: -int(str(event["ago"])))


@cache
def _told() -> dict[str, list[Event]]:
    return tomllib.loads((Path(__file__).parent / "asking.toml").read_text(encoding="utf-8"))
