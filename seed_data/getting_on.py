"""How people got on with what they wear: what was said at follow-ups, by chance and by hand, and their own goals.

Follow-ups are spread over the asks of each device: most were answered, fewer before anybody made a habit of asking;
some families declined, and some were never reached. What hurts is told by hand in `getting_on.toml` alone.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from seed_data.cast import YEAR, Event, Person

_ASKED = ((14, 0), (91, 0), (182, 0), *((round(YEAR * years), years) for years in range(1, 20)))
"""Days after the first fitting, and which year's ask it is; 0 in the first year."""

_HABIT = 1_100
"""Days since asking became a habit; before that it was asked when somebody thought of it."""

_LINKS = 500
"""Days since families have links to answer by."""

_STILL_OPEN = 45
"""What came due lately waits to be asked."""

_LAST_BEFORE_STOP = 75
"""A follow-up so many days before a device was given up hears of it first."""

_BY_HABIT = ((0.62, "answered"), (0.68, "declined"), (0.82, "not_reached"))
_BEFORE = ((0.36, "answered"), (0.39, "declined"), (0.5, "not_reached"))

_WHY = (  # a few words of why a device was given up, and the reason they come to
    ("faster with the other arm", "better_without"),
    ("skin stayed red", "hurts"),
    ("laughed at school", "looks"),
    ("oo heavy", "too_heavy"),
    ("chafes", "hurts"),
    ("pulls at the neck", "hurts"),
    ("Not allowed at work", "little_use"),
    ("longer to put on", "little_use"),
    ("battery is empty", "little_use"),
    ("leather one does better", "little_use"),
    ("do without", "better_without"),
    ("better without", "better_without"),
    ("less with it", "better_without"),
    ("outgrown it", "too_small"),
)
_USES = {
    "child": ("dressing", "eating", "school", "play", "carrying", "hobby", "cycling"),
    "adult": ("dressing", "eating", "school", "carrying", "hobby", "looks"),
}
_WHERE = ("at the elbow, by evening", "under the strap", "at the edge, in the heat", "where the socket ends")
_WORDS = {
    "good": (
        "Would not be without it at school.",
        "Takes it off for meals, and puts it back on without being told.",
        "Shows it to everybody.",
        "Carries the shopping with it.",
    ),
    "fair": ("Forgets it on weekends.", "It is warm inside.", "Good for some things.", "Slow to put on."),
    "poor": ("It mostly lies in the drawer.", "He says the others stare.", "It slips when she is hot."),
}
_GOOD, _FAIR = 8, 5


@dataclass(frozen=True)
class _Device:
    """A device: its key in the story, and days since its first fitting and since it was given up or replaced."""

    key: str
    fitted: int
    gone: int | None
    why: str | None
    words: str


def reasoned(events: list[Event]) -> list[Event]:
    """The same events; where a device was given up, with the reason in a word as well."""
    return [_reasoned(event) if event.get("use") == "stopped" else event for event in events]


def _reasoned(event: Event) -> Event:
    said = str(event["stopped_reason"])
    return {**event, "stopped_why": next((why for part, why in _WHY if part in said), "other")}


def getting_on(person: Person, events: list[Event]) -> list[Event]:
    """What was said of each device of a person, and what became of their goals; what hurts is by hand."""
    by_hand = _by_hand().get(person.name, [])
    of_hand = {(event.get("key"), event["ago"]) for event in by_hand}
    told = [event for device in _devices(events) for event in _asked(person, device)]
    near = [event for event in told if not any(_is_near(event, key, ago) for key, ago in of_hand)]
    first = max((device.fitted for device in _devices(events)), default=None)
    return [*near, *by_hand, *(_goals(person, first) if first is not None else ())]


def _is_near(event: Event, key: object, ago: object) -> bool:
    """Whether chance and the hand would answer the same ask."""
    return event["key"] == key and abs(int(str(event["ago"])) - int(str(ago))) < _LAST_BEFORE_STOP


@cache
def _by_hand() -> dict[str, list[Event]]:
    read = tomllib.loads((Path(__file__).parent / "getting_on.toml").read_text(encoding="utf-8"))
    found: dict[str, list[Event]] = read["told"]
    return found


@cache
def _wishes() -> list[dict[str, Any]]:
    read = tomllib.loads((Path(__file__).parent / "getting_on.toml").read_text(encoding="utf-8"))
    found: list[dict[str, Any]] = read["wish"]
    return found


def _devices(events: list[Event]) -> Iterator[_Device]:
    for device in (event for event in events if event["what"] == "device"):
        key = str(device["key"])
        put = [
            _ago(event)
            for event in events
            if event.get("key") == key and event["what"] in {"socket", "socket_printed", "parts"}
        ]
        if not put:
            continue
        gone = next((event for event in events if event.get("use") == "stopped" and event.get("key") == key), None)
        replaced = next((_ago(event) for event in events if event.get("replaces") == key), None)
        yield _Device(
            key,
            max(put),
            _ago(gone) if gone else replaced,
            str(gone["stopped_why"]) if gone else None,
            str(gone["stopped_reason"]) if gone else "",
        )


def _ago(event: Event) -> int:
    return int(str(event["ago"]))


def _asked(person: Person, device: _Device) -> Iterator[Event]:
    """An event for each ask that came to something."""
    draw = person.draws(f"getting on {device.key}")
    usual = _Usual.of(person, draw)
    for after, _year in _ASKED:
        due = device.fitted - after
        if due < _STILL_OPEN or (device.gone is not None and due < device.gone):
            return
        chance, delay = draw.random(), draw.randint(2, 24)
        shares = _BY_HABIT if due < _HABIT else _BEFORE
        outcome = next((word for share, word in shares if chance < share), None)
        ago = due - delay
        if outcome is None or (device.gone is not None and ago <= device.gone):
            continue
        event: Event = {"ago": ago, "what": "how_it_goes", "key": device.key}
        if outcome != "answered":
            yield {**event, "outcome": outcome}
            continue
        way = "link" if ago < _LINKS and draw.random() < 0.6 else draw.choice(("telephone", "telephone", "visit"))
        said = {**event, "way": way, **_by_whom(person, ago, draw)}
        last = device.gone is not None and ago - device.gone < _LAST_BEFORE_STOP
        if last and device.why is not None and device.why != "hurts":
            yield {**said, "used": False, "why_not": device.why, "why_not_words": device.words}
        else:
            yield {**said, **usual.answers(draw)}


def _by_whom(person: Person, ago: int, draw: Random) -> Event:
    age = person.age - ago / YEAR
    if age >= 16 or (age >= 11 and draw.random() < 0.6):
        return {"answered_by": "recipient"}
    return {"answered_by": "both" if age >= 6 and draw.random() < 0.7 else "guardian"}


@dataclass(frozen=True)
class _Usual:
    """How somebody usually gets on with a device; each answer is a little off it."""

    comfort: int
    days: int
    hours: float
    uses: tuple[str, ...]

    @classmethod
    def of(cls, person: Person, draw: Random) -> _Usual:
        comfort = draw.choice((4, 5, 6, 6, 7, 7, 8, 8, 8, 9, 9))
        days = draw.choice((2, 4, 5, 5, 6, 7) if comfort >= _FAIR else (1, 2, 3))
        hours = draw.choice((1.5, 2, 3, 4, 5, 6, 8) if comfort > _FAIR else (0.5, 1, 2))
        wanted = _USES["child" if person.is_child else "adult"]
        return cls(comfort, days, hours, tuple(draw.sample(wanted, draw.randint(1, 3))))

    def answers(self, draw: Random) -> Event:
        """What is said this time; now and then a question is skipped."""
        comfort = min(10, max(1, self.comfort + draw.choice((-1, 0, 0, 0, 1))))
        days = min(7, max(1, self.days + draw.choice((-1, 0, 0, 0, 1))))
        hurts = draw.random() < (0.45 if comfort <= _FAIR else 0.12)
        tone = "good" if comfort >= _GOOD else "fair" if comfort >= _FAIR else "poor"
        recommend = {"good": "yes", "fair": draw.choice(("yes", "perhaps")), "poor": draw.choice(("perhaps", "no"))}
        said: Event = {
            "used": True,
            "days_a_week": days,
            "hours_a_day": self.hours,
            "comfort": comfort,
            "pain": "a_little" if hurts else "none",
            "used_for": list(self.uses),
            "recommend": recommend[tone],
        }
        if hurts and draw.random() < 0.6:
            said["pain_where"] = draw.choice(_WHERE)
        if draw.random() < 0.2:
            said["words"] = draw.choice(_WORDS[tone])
        for question in ("recommend", "hours_a_day", "used_for"):
            if draw.random() < 0.08:
                said.pop(question)
        return said


def _goals(person: Person, first: int) -> Iterator[Event]:
    """A goal or two, agreed before the first fitting and scored after half a year and a year, child first."""
    draw = person.draws("goals")
    if draw.random() > 0.4 or person.asked_ago < first + 21:
        return
    fitting = [each for each in _wishes() if each["for"] == ("child" if person.is_child else "adult")]
    for wish in draw.sample(fitting, draw.choice((1, 1, 2))):
        goal = {name: wish[name] for name in ("words", "levels")}
        baseline = draw.choice((-2, -2, -1))
        yield {
            "ago": first + draw.randint(7, 20),
            "what": "goal",
            "voice": "guardian" if person.age - first / YEAR < 5 else "recipient",
            "weight": draw.randint(1, 3),
            "baseline": baseline,
            **goal,
        }
        reached = baseline
        for after in (190, 375):
            ago, reached = first - after - draw.randint(0, 20), min(2, reached + draw.choice((0, 1, 1, 2)))
            if ago < 1 or draw.random() < 0.2:
                continue
            yield {"ago": ago, "what": "goal_scored", "goal": goal["words"], "level": reached, "voice": "recipient"}
            if draw.random() < 0.5:
                seen = max(-2, min(2, reached + draw.choice((-1, 0, 0))))
                yield {"ago": ago, "what": "goal_scored", "goal": goal["words"], "level": seen, "voice": "helper"}
