"""The cast as it was written by hand."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from random import Random
from typing import Literal

YEAR = 365.25
Sex = Literal["female", "male", "unspecified"]
Event = dict[str, object]
"""Something that happened: `ago` (days), `what`, and the words of the command that records it."""


@dataclass(frozen=True)
class Limb:
    """An affected limb."""

    side: str
    cause: str
    level: str

    @property
    def above_elbow(self) -> bool:
        """Whether the upper arm, not the forearm, is what a socket holds."""
        return self.level.startswith("upper_arm") or self.level == "elbow"

    @property
    def in_hand(self) -> bool:
        """Whether part of the hand is there, so that hand and cuff are measured instead of a residual limb."""
        return self.level in {"phalangeal", "metacarpal", "carpal"}


@dataclass(frozen=True)
class Person:
    """One row of `cast.csv`."""

    site: str
    given: str
    family: str
    language: str
    age: float
    sex: Sex
    limbs: tuple[Limb, ...]
    state: str
    years: float
    fitted: int | None
    due: int | None
    tags: frozenset[str]
    notes: str

    @property
    def name(self) -> str:
        """Given and family name."""
        return f"{self.given} {self.family}"

    def draws(self, what: str) -> Random:
        """Chance of this person's own, the same every time; changing one story leaves every other as it was.

        The standard library's generator, since its numbers stay the same from version to version.
        """
        return Random(f"{what} {self.name}")  # noqa: S311 an invented life is no secret

    @property
    def born_ago(self) -> int:
        """Days since birth."""
        return round(self.age * YEAR)

    @property
    def asked_ago(self) -> int:
        """Days since the family first asked."""
        return round(self.years * YEAR)

    @property
    def stopped_ago(self) -> int | None:
        """Days since the device was given up for good, None while it is worn; "after-150": so long after a fitting."""
        if "stopped" in self.tags:
            return 420
        after = next((int(tag.removeprefix("after-")) for tag in self.tags if tag.startswith("after-")), None)
        return None if after is None or self.fitted is None else self.fitted - after

    @property
    def is_child(self) -> bool:
        """Under 18."""
        return self.age < 18

    @cached_property
    def sound_side(self) -> str | None:
        """The side that is not affected, None when both are."""
        affected = {limb.side for limb in self.limbs}
        return next((side for side in ("left", "right") if side not in affected), None)

    def limb(self, side: str | None) -> Limb | None:
        """The affected limb of a side."""
        return next((limb for limb in self.limbs if limb.side == side), None)


def read_cast() -> list[Person]:
    """Everybody, in the order of the file."""
    with (Path(__file__).parent / "cast.csv").open(encoding="utf-8", newline="") as file:
        return [_person(row) for row in csv.DictReader(file)]


def _person(row: dict[str, str]) -> Person:
    sides = ("left", "right") if row["side"] == "both" else (row["side"],)
    return Person(
        site=row["site"],
        given=row["given"],
        family=row["family"],
        language=row["language"],
        age=float(row["age"]),
        sex=row["sex"],  # type: ignore[arg-type] # the file is ours
        limbs=tuple(Limb(side, row["cause"], row["level"]) for side in sides),
        state=row["state"],
        years=float(row["years"]),
        fitted=int(row["fitted"]) if row["fitted"] else None,
        due=int(row["due"]) if row["due"] else None,
        tags=frozenset(row["tags"].split()),
        notes=row["notes"],
    )
