"""What was asked for over the years and handed over: it follows from what broke, what was fitted, and chance.

Each event is a whole request, told on the day it was settled; `asked`, `promised` and `wait` are days before today. A
part that broke was asked for when it broke and handed over when the next was put in; a socket was asked for some
weeks before its fitting. Waits are skewed, and each site and each kind has its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from random import Random

from seed_data.assembling import KEPT_SINCE
from seed_data.cast import YEAR, Event, Person

_MAKING = {"mer": 27, "ost": 22, "thr": 44}  # median days to a socket
_WAITS = {
    "first_device": {site: round(days * 1.3) for site, days in _MAKING.items()},
    "next_socket": _MAKING,
    "replacement": {"mer": 10, "ost": 8, "thr": 17},
    "adjustment": {"mer": 6, "ost": 4, "thr": 11},
    "colour": {"mer": 20, "ost": 18, "thr": 32},
    "advice": {"mer": 2, "ost": 1, "thr": 2},
}
_SPREAD, _SPREAD_OF_MAKING = 0.7, 0.35  # of the logarithm
_LONGEST = 120
_A_YEAR = {"adjustment": 0.5, "advice": 0.25, "colour": 0.08, "replacement": 0.08, "next_socket": 0.04}
_LEFT_FOR_TODAY = 26  # what was asked for lately is told by hand
_PROMISED, _PROMISES = 0.7, 1.3
_WAITED, _WAITED_LEAST = 0.09, 9
_LOOSE = 0.2  # how often somebody asks before a part that wears is worn out
_SPOILED, _SENT_BACK = 0.24, 0.06
_WEAR_IN = 9
_YOUNGEST = 3.0  # for anybody younger a clinician has to accept in writing what is made

_CLOSED = {
    "adjustment": (0.14, ("It sits well again since the weather turned.", "Her father filed it down himself.")),
    "colour": (0.35, ("Changed her mind: it stays as it is.", "No such colour at any of our sites.")),
    "advice": (0.0, ("",)),
    "replacement": (1.0, ("Found behind the sofa.", "A neighbour glued it, and it holds for now.")),
    "next_socket": (1.0, ("Measured again: there is room for half a year yet.",)),
}
_SAID = {
    "first_device": ("",),
    "next_socket": ("Leaves marks by the evening.", "Does not go in without a struggle.", "", ""),
    "adjustment": (
        "The strap rubs in the crook of the elbow.",
        "The fingers no longer close all the way.",
        "The edge presses when the arm is bent.",
        "It turns on the arm.",
    ),
    "colour": ("The colours of the football club, please.", "All one colour, please.", "Plain, for a wedding."),
    "advice": (
        "May it go through the airport scanner?",
        "How is it washed?",
        "Is it all right to sleep in it?",
        "Which sock in summer?",
    ),
    "replacement": ("One finger is gone.",),
}
_SETTLED = {
    "adjustment": "Done at a visit.",
    "colour": "Printed again in the colour.",
    "advice": "Answered on the telephone.",
}
_COLOURS = ("red", "black", "yellow", "white")
_DISABLES = {"coupling", "palm", "strap", "line", "terminal_device", "harness"}


@dataclass(frozen=True)
class _Off:
    """What came off a slot: when, why, and what was said."""

    ago: int
    why: str
    note: str


def past(person: Person, told: list[Event]) -> list[Event]:
    """Every settled request of a person and what is asked for since what broke lately, from all that is told."""
    return [*_fittings(person, told), *_replaced(person, told), *_now_and_then(person, told)]


def _chance(person: Person, *of: object) -> Random:
    """Chance of one request's own, so that what is told of one leaves the others as they were."""
    return person.draws(f"past {' '.join(map(str, of))}")


def _days(event: Event, name: str = "ago") -> int:
    return int(str(event[name]))


def _waited(draw: Random, person: Person, kind: str) -> int:
    usual = _WAITS[kind][person.site]
    spread = _SPREAD_OF_MAKING if kind in {"first_device", "next_socket"} else _SPREAD
    return min(max(round(draw.lognormvariate(log(usual), spread)), 1), _LONGEST)


def _request(draw: Random, person: Person, kind: str, asked: int, ago: int, **more: object) -> Event:
    """A settled request, with what was promised and how long the clock stood still."""
    event: Event = {"ago": ago, "what": "past", "asked": asked, "kind": kind, **more}
    event["asker"] = draw.choice(("family", "family", "family", "volunteer", "coordinator"))
    event.setdefault("words", draw.choice(_SAID[kind]))
    if kind in {"first_device", "next_socket", "replacement"} and draw.random() < _PROMISED:
        event["promised"] = asked - round(_WAITS[kind][person.site] * _PROMISES)
    if asked - ago >= _WAITED_LEAST and draw.random() < _WAITED:
        event["wait"] = [asked - 2, asked - 2 - (asked - ago) // 3]
    return event


def _made(draw: Random, person: Person, asked: int, ago: int) -> Event:
    """How something printed was made; nothing where a builds' rules of today would have stopped it."""
    too_young = person.age - asked / YEAR < _YOUNGEST
    if ago < _WEAR_IN or too_young or "no-prescriber" in person.tags:
        return {}
    spoiled = (draw.random() < _SPOILED) + (draw.random() < _SPOILED / 3)
    return {"made": {"maker": draw.randrange(1000), "spoiled": spoiled, "sent_back": draw.random() < _SENT_BACK}}


def _fittings(person: Person, told: list[Event]) -> list[Event]:
    """First devices and next sockets: everything that was put on on the day of a fitting."""
    fitted = [event for event in told if event["what"] in {"socket", "socket_printed"}]
    fitted = fitted or [event for event in told if event["what"] == "device"]
    found, before = [], {str(event["key"]): 0 for event in fitted}
    for event in sorted(fitted, key=_days, reverse=True):
        key, ago = str(event["key"]), _days(event)
        draw = _chance(person, "fitted", key, ago)
        kind = "next_socket" if before[key] or "previous" in event else "first_device"
        since = before[key] or person.asked_ago
        asked = min(ago + _waited(draw, person, kind), since - 8)
        before[key] = ago
        if asked > KEPT_SINCE or asked <= ago:
            continue
        slots = [slot for each in told if _put_on(each, key, ago) for slot in _broke_before(each, told)]
        extra: Event = {"slots": slots, "key": key} | ({"socket": True} if event["what"] == "socket_printed" else {})
        if slots or "socket" in extra:
            extra |= _made(draw, person, asked, ago)
        found.append(_request(draw, person, kind, asked, ago, **extra))
    return found


def _put_on(event: Event, key: str, ago: int) -> bool:
    return event["what"] == "parts" and event["key"] == key and event["ago"] == ago and "in_days" not in event


def _broke_before(put_on: Event, told: list[Event]) -> list[str]:
    """The printed slots of what was put on, less those that are asked for on their own because they broke."""
    put = put_on["put"]
    assert isinstance(put, dict)  # noqa: S101 told so
    broken = _off_before(put_on, told)
    return [slot for slot, part in put.items() if "version" in part and slot not in broken]


def _off_before(put_on: Event, told: list[Event]) -> dict[str, _Off]:
    """What of a device had come off, broken or worn out, since it was last put on."""
    found: dict[str, _Off] = {}
    for event in sorted(told, key=_days, reverse=True):
        if event.get("key") != put_on["key"] or _days(event) < _days(put_on) or event is put_on:
            continue
        if event["what"] == "parts" and _days(event) > _days(put_on):
            found = {slot: off for slot, off in found.items() if slot not in _slots(event, "put")}
        if event["what"] == "parts_off" and event["why"] in {"broken", "worn_out"}:
            off = _Off(_days(event), str(event["why"]), str(event.get("note", "")))
            found |= dict.fromkeys(_slots(event, "slots"), off)
    return {slot: off for slot, off in found.items() if slot in _slots(put_on, "put")}


def _slots(event: Event, name: str) -> list[str]:
    held = event[name]
    assert isinstance(held, dict | list)  # noqa: S101 told so
    return list(held)


def _replaced(person: Person, told: list[Event]) -> list[Event]:
    """A request for each part that broke and was replaced, and for some of those that wore out."""
    found = []
    for event in told:
        if event["what"] != "parts" or "in_days" in event:
            continue
        ago, off = _days(event), _off_before(event, told)
        draw = _chance(person, "replaced", event["key"], ago, *off)
        broken = {slot: each for slot, each in off.items() if each.why == "broken" and each.ago > ago}
        if broken:
            first = max(broken.values(), key=lambda each: each.ago)
            how: Event = {"asked": first.ago, "happened": "broken", "words": first.note or "It broke."}
            found.append(_replacement(person, draw, event, list(broken), how))
        for slot, each in off.items():
            asked = ago + _waited(draw, person, "replacement")
            if each.why == "worn_out" and asked < KEPT_SINCE and draw.random() < _LOOSE:
                happened = "line" if slot == "line" else "loose"
                how = {"asked": asked, "happened": happened, "words": "It is nearly through."}
                found.append(_replacement(person, draw, event, [slot], how))
    return found


def _replacement(person: Person, draw: Random, put_on: Event, slots: list[str], how: Event) -> Event:
    """A request for parts that were put on; `how` says since when it was asked for, why, and in which words."""
    put, ago, asked = put_on["put"], _days(put_on), _days(how, "asked")
    assert isinstance(put, dict)  # noqa: S101 told so
    usable = not (_DISABLES & set(slots)) or how["happened"] == "loose"
    more: Event = {**how, "key": put_on["key"], "slots": slots, "usable": usable}
    del more["asked"]
    if all("version" in put[slot] for slot in slots):
        more |= _made(draw, person, asked, ago)
    return _request(draw, person, "replacement", asked, ago, **more)


def _now_and_then(person: Person, told: list[Event]) -> list[Event]:
    """Adjustments, colours and questions, and what was asked for and found not to be needed."""
    found = []
    for device in [event for event in told if event["what"] == "device"]:
        key, begun = str(device["key"]), min(_days(device), KEPT_SINCE)
        until = max([_LEFT_FOR_TODAY, *(_days(each) for each in told if _gives_up(each, key))])
        for kind, often in _A_YEAR.items():
            draw = _chance(person, kind, key)
            asked = begun - round(draw.expovariate(often) * YEAR)
            while asked > until + 3:
                ago = max(asked - _waited(draw, person, kind), until)
                share, reasons = _CLOSED[kind]
                closed = {"closed": draw.choice(reasons)} if draw.random() < share else {"note": _SETTLED.get(kind, "")}
                colour = {"colour": draw.choice(_COLOURS)} if kind == "colour" else {}
                about = {} if kind == "advice" else {"key": key}
                found.append(_request(draw, person, kind, asked, ago, **about, **closed, **colour))
                asked = ago - round(draw.expovariate(often) * YEAR)
    return found


def _gives_up(event: Event, key: str) -> bool:
    return (event["what"] == "device_changed" and event["key"] == key) or event.get("replaces") == key
