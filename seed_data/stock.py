"""Spools and batches at the three sites, as `lots.csv` tells them, and which of them a part was made from on a day."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from seed_data.cast import Event


@dataclass(frozen=True)
class Lot:
    """A row of `lots.csv`: `used_for` is a kind of bought part; `ended` so many days ago, or None, with why.

    What is `learned` then is that it holds latex after all.
    """

    key: str
    site: str
    used_for: str
    material: str
    colour: str
    ago: int
    state: str
    ended: int | None
    row: tuple[tuple[str, str], ...]

    def on_the_shelf(self, ago: int) -> bool:
        """Whether something may be made from it on a day."""
        return self.ago > ago and (self.ended is None or self.ended < ago)


@cache
def lots() -> tuple[Lot, ...]:
    """Every lot, in the order of the file."""
    with (Path(__file__).parent / "lots.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_lot(row) for row in csv.DictReader(file))


def stock() -> list[Event]:
    """Every lot as it came in, and what became of it, oldest first."""
    events: list[Event] = []
    for lot in lots():
        row = dict(lot.row)
        words: Event = {name: row[name] for name in _WORDS if row[name]}
        words |= {name: row[name] == "yes" for name in ("latex_free", "skin_contact") if row[name]}
        if row["quantity"]:
            words["quantity"] = float(row["quantity"])
        events.append({"ago": lot.ago, "what": "lot", "key": lot.key, "item": row["what"], **words})
        if row["learned"]:
            learned = {"latex_free": False, "safety_note": row["learned"]}
            events.append({"ago": lot.ended, "what": "lot_corrected", "key": lot.key, **learned})
        if lot.ended is not None:
            events.append(
                {"ago": lot.ended, "what": "lot_moved", "key": lot.key, "state": lot.state, "why": row["why"]}
            )
    return sorted(events, key=lambda event: -int(str(event["ago"])))


def spool(site: str, materials: tuple[str, ...], colours: tuple[str, ...], ago: int) -> Lot:
    """The spool to print from on a day: the first colour there is, the newest of it.

    Raises LookupError when the shelf has none at all.
    """
    there = [lot for lot in lots() if lot.site == site and not lot.used_for and lot.on_the_shelf(ago)]
    there = [lot for lot in there if lot.material in materials]
    for colour in colours:
        if found := [lot for lot in there if lot.colour == colour]:
            return min(found, key=lambda lot: lot.ago)
    if there:
        return min(there, key=lambda lot: lot.ago)
    raise LookupError(f"{site} has no {' or '.join(materials)} {ago} days ago")


def batch(site: str, used_for: str, ago: int) -> Lot:
    """The batch a bought part is taken from on a day, the newest; raises LookupError when there is none."""
    found = [lot for lot in lots() if lot.site == site and lot.used_for == used_for and lot.on_the_shelf(ago)]
    if not found:
        raise LookupError(f"{site} has no {used_for} {ago} days ago")
    return min(found, key=lambda lot: lot.ago)


_WORDS = ("site", "kind", "material", "colour", "maker", "batch", "unit", "safety_note", "note")


def _lot(row: dict[str, str]) -> Lot:
    ended = int(row["ended"]) if row["ended"] else None
    return Lot(
        key=row["key"],
        site=row["site"],
        used_for=row["used_for"],
        material=row["material"],
        colour=row["colour"],
        ago=int(row["ago"]),
        state=row["state"],
        ended=ended,
        row=tuple(row.items()),
    )
