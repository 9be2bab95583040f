"""What devices were put together from: parts put on with a fitting, broken, replaced, taken off.

The register has kept printed parts for `KEPT_SINCE` days and bought ones for fewer. A child's hand is made anew at a
fitting once the other hand has grown by a few per cent; couplings, lines and motors stay until they break or wear out.
How often that happens is told in `wear.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import log
from random import Random

from seed_data.cast import YEAR, Event, Person
from seed_data.entering import entered
from seed_data.growing import Body, Channel
from seed_data.library import Version, newest
from seed_data.stock import Lot, batch, spool
from seed_data.wear import SCALED, comes_off, has_hand, layout, rate
from service.anthropometry import Dimension

KEPT_SINCE = 1_235
_BOUGHT_KEPT_SINCE = 880
ENTERED_LATE = {"thr": 1_000}
"""Sites that entered their parts later, so many days ago: what was in place then, with the day it was put in."""

_BASE_HAND = 170.0  # mm, the hand `solids.py` draws for
_MADE_ANEW_FROM = 1.04  # how much larger the next hand is before it is worth making
_TILLER_SINCE, _TILLER_FROM_AGE = 600, 7
_COUPLING_SIZES = (0.7, 0.8, 0.9, 1.0, 1.1)
_DAYS_WITHOUT = {"mer": 9, "ost": 7, "thr": 15}  # median; of couplings, which lie in a box, half as long
_LONGEST_WITHOUT = 70
_HEED_A_NOTICE = 0.6
_NOTICE_TAKES = (4, 70)  # days until a part is changed

_COLOURS = {  # palm first, then digits
    "green, with a dark blue palm": ("dark blue", "green"),
    "all black": ("black", "black"),
    "yellow like a digger": ("black", "yellow"),
    "football club red": ("white", "red"),
    "sea blue": ("sea blue", "sea blue"),
}
_PLAIN = (("white", "white"), ("black", "grey"), ("grey", "grey"))


@dataclass(frozen=True)
class _Part:
    """A part in its place since so many days ago."""

    since: int
    version: Version | None
    lot: Lot


@dataclass
class _Device:
    """A device as far as it is told: what it has in place, and what happened."""

    person: Person
    key: str
    draw: Random
    colours: tuple[str, str]
    busy: float = 1.0
    given_up: int = 0
    stopped: bool = False
    scale: float = 0.0
    slots: dict[str, str] = field(default_factory=dict)
    parts: dict[str, _Part] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.of_couplings = self.person.draws(f"couplings {self.key}")

    def put(self, ago: int, slots: list[str]) -> None:
        """Put parts on, each from the newest version and the spool or batch of the day."""
        put: dict[str, Event] = {}
        for slot in slots:
            if not self.slots[slot] and ago > _BOUGHT_KEPT_SINCE:
                continue
            version, lot = self._made(slot, ago)
            self.parts[slot] = _Part(ago, version, lot)
            put[slot] = {"lot": lot.key} if version is None else {"version": version.key, "lot": lot.key}
            if version is not None and (scale := self._scale_of(slot)) != self.scale:
                put[slot]["scale"] = scale
        if put:
            self.events.append({"ago": ago, "what": "parts", "key": self.key, "scale": self.scale, "put": put})

    def take(self, ago: int, slots: list[str], why: str, note: str = "") -> None:
        """Take parts off."""
        for slot in slots:
            del self.parts[slot]
        event: Event = {"ago": ago, "what": "parts_off", "key": self.key, "slots": slots, "why": why}
        if slots:
            self.events.append({**event, "note": note} if note else event)

    def _made(self, slot: str, ago: int) -> tuple[Version | None, Lot]:
        design = self.slots[slot]
        if not design:
            return None, batch(self.person.site, slot, ago)
        version = newest(design, ago)
        palm, digits = self.colours
        colour = {"palm": palm, "cover": palm, "coupling": "black"}.get(slot, digits)
        return version, spool(self.person.site, version.materials, (colour, "black", "grey", "white"), ago)

    def _scale_of(self, slot: str) -> float:
        return _size(self.scale) if slot == "coupling" else self.scale


def assembled(person: Person, told: list[Event]) -> list[Event]:
    """Every part of every device of a person, from the devices and fittings that are told already."""
    events: list[Event] = []
    before: _Device | None = None
    for event in told:
        if event["what"] != "device":
            continue
        moves = before if before is not None and "spare" in person.tags else None
        device = _life(person, event, told, moves)
        if before is not None:
            events += _rest(before)
        before = device
    events += [] if before is None else _rest(before)
    since = ENTERED_LATE.get(person.site)
    return events if since is None else entered(events, since)


def _life(person: Person, told_of: Event, told: list[Event], moves: _Device | None) -> _Device:
    """A device as long as it is worn; the coupling of the one that `moves` goes on with it, if it fits."""
    key = str(told_of["key"])
    draw = person.draws(f"builds {key}")
    wish = next(str(event["colour_wishes"]) for event in told if event["what"] == "registered")
    device = _Device(person, key, draw, _COLOURS.get(wish) or draw.choice(_PLAIN))
    likes_tiller = draw.random() < 0.3
    device.busy = draw.uniform(0.6, 1.5) if person.is_child else draw.uniform(0.4, 0.9)
    made = _days(key, told_of, told)
    device.given_up = _given_up(key, told)
    device.stopped = any(event["what"] == "device_changed" and event["key"] == key for event in told)
    for number, ago in enumerate(made):
        scale = round(Body(person).size(Channel(Dimension.HAND_LENGTH, person.sound_side), ago) / _BASE_HAND, 2)
        if not device.parts or (person.is_child and scale >= device.scale * _MADE_ANEW_FROM):
            age = person.age - ago / YEAR
            tiller = has_hand(person) and ago < _TILLER_SINCE and age > _TILLER_FROM_AGE and likes_tiller
            _make_anew(device, ago, scale, layout(person, told_of, tiller=tiller))
        if number == 0 and moves is not None:
            _take_over(device, moves, ago)
        device.put(ago, [slot for slot in device.slots if slot not in device.parts])
        until = made[number + 1] if number + 1 < len(made) else device.given_up
        for slot in device.slots:
            _worn(device, slot, ago, until)
    return device


def _take_over(device: _Device, other: _Device, ago: int) -> None:
    """The coupling of the device before goes into this one, where it fits; what it is and how old stays as it was."""
    part = other.parts.get("coupling")
    fits = part is not None and part.version is not None and part.version.design == device.slots.get("coupling")
    if part is not None and fits and _size(other.scale) == _size(device.scale):
        device.parts["coupling"] = other.parts.pop("coupling")
        to: Event = {"ago": ago, "what": "part_moved", "key": other.key, "slot": "coupling"}
        note = "The new hand goes on the old coupling."
        device.events.append({**to, "to": [device.person.name, device.key], "note": note})


def _rest(device: _Device) -> list[Event]:
    """All that happened to a device, and what becomes of it once it is given up.

    Of one that is handed back the parts come off. One that is kept as a spare or for rough work goes on breaking its
    coupling, which is all that anybody writes down of it.
    """
    if device.stopped:
        device.take(device.given_up, list(device.parts), "preference", "Handed back with the device.")
    elif device.given_up and "coupling" in device.parts:
        _worn(device, "coupling", device.given_up, 0)
    return device.events


def _make_anew(device: _Device, ago: int, scale: float, slots: dict[str, str]) -> None:
    """Take off what the next hand replaces: what is too small, what does not go with it, and lines that are old."""
    was, device.scale = device.scale, scale
    other = [slot for slot in device.parts if slots.get(slot) != device.slots[slot] and slot not in SCALED]
    small = [slot for slot in device.parts if slot in SCALED or slot in {"cover", "mitten"}]
    if _size(was) != _size(scale):
        small += [slot for slot in device.parts if slot == "coupling" and slot not in other]
    device.take(ago, small, "outgrown")
    device.take(ago, other, "preference", "Another kind of hand goes on, with a coupling of its own.")
    old = [slot for slot, part in device.parts.items() if slot in {"line", "elastic"} and part.since - ago > 120]
    device.take(ago, old, "worn_out", "Renewed with the hand.")
    device.slots = slots


def _worn(device: _Device, slot: str, since: int, until: int) -> None:
    """A part of a device through a stretch of days: it breaks, is replaced, breaks again.

    Couplings break as chance has it, alike whoever wears them; all else sooner with some people than with others.
    """
    is_coupling = slot == "coupling"
    draw, busy = (device.of_couplings, 1.0) if is_coupling else (device.draw, device.busy)
    while slot in device.parts:
        part = device.parts[slot]
        start = min(part.since, since)
        key = "" if part.version is None else part.version.key
        lasts = max(round(draw.expovariate(rate(slot, key) * busy) * YEAR), 1)
        off, why, notes = start - lasts, *comes_off(slot, key)
        warned = _warned(part)
        if warned is not None and warned < start and draw.random() < _HEED_A_NOTICE:
            changed = warned - draw.randint(*_NOTICE_TAKES)
            if changed > off:
                off, why, notes = changed, "notice", ("",)
        if off <= until:
            return
        device.take(off, [slot], why, draw.choice(notes))
        again = off if why in {"notice", "worn_out"} else off - _without(device, draw, is_coupling=is_coupling)
        if again <= until:
            return
        device.put(again, [slot])


def _without(device: _Device, draw: Random, *, is_coupling: bool) -> int:
    """Days until a part that broke is replaced: skewed, and each site has its own pace."""
    usual = _DAYS_WITHOUT[device.person.site] * (0.5 if is_coupling else 1.0)
    return min(max(round(draw.lognormvariate(log(usual), 0.6)), 1), _LONGEST_WITHOUT)


def _size(scale: float) -> float:
    """The size of coupling that goes with a hand: they are kept in a box, in five sizes."""
    return min(_COUPLING_SIZES, key=lambda size: abs(size - scale))


def _warned(part: _Part) -> int | None:
    """Days ago on which its version or its lot was withdrawn."""
    days = [part.lot.ended] if part.lot.state == "withdrawn" else []
    days += [part.version.withdrawn] if part.version is not None else []
    return max((day for day in days if day is not None), default=None)


def _days(key: str, told_of: Event, told: list[Event]) -> list[int]:
    """The fittings of a device since parts are kept, oldest first; of a device without a socket, its first day."""
    fitted = [int(str(event["ago"])) for event in told if event["what"] == "socket" and event["key"] == key]
    return sorted((ago for ago in fitted or [int(str(told_of["ago"]))] if ago <= KEPT_SINCE), reverse=True)


def _given_up(key: str, told: list[Event]) -> int:
    """The day from which a device lies in a drawer; none of its parts breaks any more."""
    for event in told:
        stopped = event["what"] == "device_changed" and event["key"] == key
        if stopped or (event["what"] == "device" and event.get("replaces") == key):
            return int(str(event["ago"]))
    return 0
