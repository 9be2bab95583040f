"""What the charity prints, as `library.toml` tells it: designs, their versions and what became of each."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from seed_data.cast import Event

_CARRIED = ("materials", "settings", "features", "checks")  # a version has the one's before unless it says otherwise


@dataclass(frozen=True)
class Version:
    """A version of a design: released and withdrawn so many days ago, or never."""

    design: str
    number: int
    interface: str
    materials: tuple[str, ...]
    released: int | None
    withdrawn: int | None

    @property
    def key(self) -> str:
        """What the story calls it."""
        return f"{self.design} {self.number}"

    def may_be_made(self, ago: int) -> bool:
        """Whether it was released by that day, and not yet withdrawn."""
        return self.released is not None and self.released > ago and (self.withdrawn is None or self.withdrawn < ago)


def library() -> list[Event]:
    """Every design and version, and what was decided about each, oldest first."""
    events: list[Event] = []
    for design in _designs():
        by = design.get("by", "volunteer")
        words = {name: value for name, value in design.items() if name not in {"version", "by"}}
        events.append({"ago": design["version"][0]["ago"], "what": "design", "by": by, **words})
        for number, version in enumerate(design["version"], start=1):
            events += _told(design, number, version)
    return sorted(events, key=lambda event: -int(str(event["ago"])))


@cache
def versions() -> tuple[Version, ...]:
    """Every version of every design."""
    return tuple(
        Version(
            design["name"],
            number,
            design.get("interface", ""),
            tuple(version["materials"]),
            version.get("released", {}).get("ago"),
            version.get("withdrawn", {}).get("ago"),
        )
        for design in _designs()
        for number, version in enumerate(design["version"], start=1)
    )


def newest(design: str, ago: int) -> Version:
    """The version that is printed on a day; raises LookupError when none may be."""
    found = [each for each in versions() if each.design == design and each.may_be_made(ago)]
    if not found:
        raise LookupError(f"no version of {design} may be made {ago} days ago")
    return found[-1]


def _told(design: dict[str, Any], number: int, version: dict[str, Any]) -> list[Event]:
    which = {"design": design["name"], "number": number}
    words = {name: value for name, value in version.items() if name not in {"released", "withdrawn", "successor", "by"}}
    events: list[Event] = [{"what": "version", "by": version.get("by", "volunteer"), **which, **words}]
    decided = [act for act in ("released", "withdrawn") if act in version]
    events += [{"what": f"version_{act}", **which, **version[act]} for act in decided]
    if "successor" in version:
        events[-1]["successor"] = version["successor"]
    return events


@cache
def _designs() -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = tomllib.loads((Path(__file__).parent / "library.toml").read_text(encoding="utf-8"))[
        "design"
    ]
    for design in found:
        carried: dict[str, Any] = {"features": []}
        for version in design["version"]:
            carried |= {name: version[name] for name in _CARRIED if name in version}
            version.update(carried)
    return found
