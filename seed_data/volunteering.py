"""Where people live, and who makes and fits: `towns.csv` and `volunteers.csv` as events."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from random import Random

from seed_data.cast import Event, Person

_OPENED = 2_990
"""Towns were recorded when the charity began, so many days ago."""


def volunteering() -> list[Event]:
    """Every town, then every volunteer with what they have and are trained for, oldest first."""
    events: list[Event] = [
        {
            "ago": _OPENED,
            "what": "town",
            **row,
            "latitude": float(row["latitude"]),
            "longitude": float(row["longitude"]),
        }
        for row in _rows("towns.csv")
    ]
    for row in _rows("volunteers.csv"):
        events += _volunteer(row)
    return sorted(events, key=lambda event: -int(str(event["ago"])))


def town_of(person: Person) -> str:
    """Where somebody lives: among the towns of their site."""
    here = [row["name"] for row in _rows("towns.csv") if row["site"] == person.site]
    return person.draws("town").choice(here)


def _volunteer(row: dict[str, str]) -> list[Event]:
    draw = Random(row["name"])  # noqa: S311 an invented life is no secret
    since = max(draw.randint(120, 1_400), int(row["vetted"] or 0) + 10)
    given = row["name"].split()[0].lower()
    who: Event = {"who": row["name"]}
    events: list[Event] = [
        {
            "ago": since,
            "what": "volunteer",
            "name": row["name"],
            "site": row["site"],
            "town": row["town"],
            **({"phone": row["phone"]} if row["phone"] else {"email": f"{given}@makers.example.org"}),
            "languages": row["languages"].split(),
            "hours_a_week": float(row["hours"]),
            "jobs_at_once": int(row["at_once"]),
            "travels_km": float(row["km"]),
            "note": row["note"],
        }
    ]
    events += [{"ago": since - 2, "what": "trained", **who, "skill": skill} for skill in row["skills"].split()]
    if row["bed"]:
        room, _, nozzle = row["bed"].partition("/")
        edges = dict(zip(("width_mm", "depth_mm", "height_mm"), map(float, room.split("x")), strict=True))
        printer = {"name": "The printer", **edges, "nozzle_mm": float(nozzle), "materials": row["prints"].split(";")}
        events.append({"ago": since - 3, "what": "printer", **who, **printer})
    for each in filter(None, row["stock"].split(";")):
        material, colour, grams = _parted(each)
        stock = {"material": material, "colour": colour, "grams": float(grams)}
        events.append({"ago": draw.randint(5, 90), "what": "stock", **who, **stock})
    if row["away"]:
        first, last = map(int, row["away"].split("-"))
        events.append({"ago": 4, "what": "away", **who, "from_in": first, "until_in": last})
    if row["vetted"]:
        events.append({"ago": int(row["vetted"]), "what": "vetted", **who, "kind": "home_visits"})
    return events


def _parted(stock: str) -> tuple[str, str, str]:
    """A material of one or two words, a colour of one or two, and grams: such as TPU 95A white 420."""
    *words, grams = stock.split()
    at = 2 if words[0] == "TPU" else 1
    return " ".join(words[:at]), " ".join(words[at:]), grams


@cache
def _rows(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
