"""What people wear: devices, the sockets in them, socks reported by families, settings of powered ones."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from seed_data.cast import Event, Limb, Person
from seed_data.growing import Body, Channel
from seed_data.measuring import fit_channels

_CHILD_SOCKET_LASTS, _ADULT_SOCKET_LASTS = 430, 900
_PLY_MM = {1: 0.7, 3: 1.2, 5: 1.5}
_WORN_TOGETHER = ((), (1,), (3,), (5,), (3, 1), (3, 3), (5, 3), (5, 5), (5, 3, 3))
_AMPLE_ROOM = 0.07  # nobody grows through it for years
_LEAST_ROOM = 0.012
_PURPOSES = {
    "hand": "everyday",
    "hook": "everyday",
    "partial": "everyday",
    "finger": "everyday",
    "passive": "balance and play",
    "body": "everyday, body-powered",
    "powered": "everyday, powered",
    "cosmetic": "passive hand for going out",
    "cycling": "everyday",
}
_STOPPED = "Prefers to do without; may come back whenever that changes."
_LEFT = {  # what was said when a device was given up, by the tag of its kind
    "hand": (
        "Does everything faster with the other arm, and says so.",
        "Too warm in summer; the skin stayed red.",
        "They laughed at school. Does not want it back for now.",
        "Too heavy for a whole day.",
    ),
    "hook": ("The harness chafes under the arm.", "Not allowed at work: it catches in the machine."),
    "body": (
        "The harness pulls at the neck; wore it for an hour at most.",
        "Takes longer to put on than it helps.",
        "Has learned to do without.",
    ),
    "powered": ("Too heavy, and too slow for a keyboard.", "The battery is empty by noon."),
    "passive": ("Crawls and climbs better without.",),
    "finger": ("A tip lasts a week; a leather one does better.",),
    "partial": ("Feels less with it than without.", "Has outgrown it, and does not want another."),
}
_SETTINGS = (
    ("close above", (32, 46), "% of full signal"),
    ("open below", (9, 18), "% of full signal"),
    ("slowest grip", (20, 35), "mm/s"),
    ("hold before sleep", (8, 20), "s"),
)


@dataclass(frozen=True)
class Worn:
    """One socket: fitted and ended so many days ago (None: in place), why it ended, its tight-at per channel."""

    fitted: int
    ended: int | None
    why: str
    tight_at: dict[Channel, float]


def fittings(person: Person) -> list[int]:
    """Days ago on which sockets were fitted, oldest first; the wait before the first is part of the story."""
    if person.fitted is None and "crushed" not in person.tags:
        return []
    draw = person.draws("fittings")
    first = person.asked_ago - draw.randint(95, 150)
    last = person.fitted if person.fitted is not None else 400
    lasts = _CHILD_SOCKET_LASTS if person.is_child else _ADULT_SOCKET_LASTS
    between = max(round((first - last) / lasts), 0)
    if between == 0:
        return [last]
    step = (first - last) / between
    inner = [round(first - step * number + draw.uniform(-50, 50)) for number in range(1, between)]
    return [first, *inner, last]


def worn(person: Person) -> list[Event]:
    """Everything about devices, in order."""
    days = fittings(person)
    if not days:
        return _without_socket(person)
    events: list[Event] = []
    for number, limb in enumerate(person.limbs):
        events += _device(person, limb, [day - number for day in days])
    if person.tags & {"second", "cycling"}:
        events += _second(person, person.limbs[0])
    return events


def _kind(person: Person) -> str:
    return next(purpose for tag, purpose in _PURPOSES.items() if tag in person.tags)


def _added(person: Person, limb: Limb, ago: int, key: str, **more: object) -> Event:
    return {"ago": ago, "what": "device", "key": key, "purpose": _kind(person), "side": limb.side, **more}


def _device(person: Person, limb: Limb, days: list[int]) -> list[Event]:
    draw = person.draws(f"device {limb.side}")
    key = f"{limb.side} 1"
    events = [_added(person, limb, days[0], key)]
    if "powered" in person.tags:
        events += _settings(draw, key, days[0])
    sockets = _sockets(draw, person, limb, days)
    for number, socket in enumerate(sockets):
        new_device = socket is sockets[-1] and len(sockets) > 1 and person.tags & {"replaced", "spare"}
        if new_device:
            events.append(_added(person, limb, socket.fitted, f"{limb.side} 2", replaces=key, replaced_becomes="spare"))
            key = f"{limb.side} 2"
        previous = sockets[number - 1].why if number and not new_device else None
        events.append(_fitted(person, limb, socket, key, previous))
        if "socks" in person.tags and number >= len(sockets) - 2:
            events += _socks(draw, person, socket, key)
    if "powered" in person.tags and days[-1] > 120:
        events += _settings(draw, key, days[-1] - 90, note="after a month at school")[:2]
    if (gone := person.stopped_ago) is not None:
        events.append(
            {"ago": gone, "what": "device_changed", "key": key, "use": "stopped", "stopped_reason": _why(person)}
        )
    if "crushed" in person.tags:
        note = "Crushed between boat and quay."
        events.append({"ago": 24, "what": "socket_ended", "key": key, "end_reason": "broken", "note": note})
    return events


def _why(person: Person) -> str:
    if "stopped" in person.tags:
        return _STOPPED
    said = next(words for tag, words in _LEFT.items() if tag in person.tags)
    return person.draws("stopped").choice(said)


def _sockets(draw: Random, person: Person, limb: Limb, days: list[int]) -> list[Worn]:
    body, channels = Body(person), fit_channels(person, limb)
    found = []
    for fitted, ended in pairwise(days):
        is_last_change = ended == days[-1]
        if is_last_change and "broken" in person.tags:
            why = "broken"
        else:
            why = draw.choice(("outgrown",) * 6 + ("broken", "worn_out")) if person.is_child else "worn_out"
        reached = ended + draw.randint(5, 70) if why == "outgrown" else None
        found.append(Worn(fitted, ended, why, _limits(draw, body, channels, fitted, reached)))
    due = None if person.due is None else -person.due
    found.append(Worn(days[-1], None, "", _limits(draw, body, channels, days[-1], due)))
    return found


def _limits(
    draw: Random, body: Body, channels: list[Channel], fitted: int, reached: int | None
) -> dict[Channel, float]:
    """Tight-at for every channel: reached by the first on the day given, by the others a little later."""
    limits = {}
    for number, channel in enumerate(channels):
        at_fitting = body.size(channel, fitted)
        if reached is None:
            size = max(at_fitting, body.size(channel, 0)) * (1 + _AMPLE_ROOM + draw.uniform(-0.015, 0.015))
        else:
            size = max(body.size(channel, reached), at_fitting * (1 + _LEAST_ROOM)) * (1 + 0.008 * number)
        limits[channel] = round(size * 2) / 2
    return limits


def _fitted(person: Person, limb: Limb, socket: Worn, key: str, previous: str | None) -> Event:
    limits = [
        {
            "dimension": channel.dimension.value,
            "side": channel.side,
            "tight_at_mm": tight_at,
            **({} if channel.level_mm is None else {"level_mm": channel.level_mm}),
        }
        for channel, tight_at in socket.tight_at.items()
    ]
    event: Event = {"ago": socket.fitted, "what": "socket", "key": key, "limits": limits}
    if not limb.in_hand:
        event["socks_at_fitting"] = list(_socks_for(_room(Body(person), socket, socket.fitted)))
    if previous:
        event["previous"] = {"end_reason": previous}
    return event


def _room(body: Body, socket: Worn, ago: float) -> float:
    """Growth room in mm of girth where it is least."""
    return min(tight_at - body.size(channel, ago) for channel, tight_at in socket.tight_at.items())


def _filled(plies: tuple[int, ...]) -> float:
    return 2 * math.pi * sum(_PLY_MM[ply] for ply in plies)


def _socks_for(room: float) -> tuple[int, ...]:
    """The thickest socks that go in; a millimetre of squeeze is usual."""
    return max((plies for plies in _WORN_TOGETHER if _filled(plies) <= room + 1), key=_filled, default=())


def _socks(draw: Random, person: Person, socket: Worn, key: str) -> list[Event]:
    """Monthly reports, now and then forgotten; families change socks a month or so after the limb would need it."""
    body, events = Body(person), []
    for ago in range(socket.fitted - 21, socket.ended or 3, -30):
        day = ago - draw.randint(0, 6)
        plies = _socks_for(_room(body, socket, day + 30))
        spare = _room(body, socket, day) - _filled(plies) + draw.gauss(0, 1.5)
        fit = "tight" if spare < -2 else "loose" if spare > 5 else "snug"
        if draw.random() < 0.85 and day > 0:
            events.append({"ago": day, "what": "socks", "key": key, "plies": list(plies), "fit": fit})
    return events


def _settings(draw: Random, key: str, ago: int, note: str = "first settings") -> list[Event]:
    events = []
    for name, span, unit in _SETTINGS:
        words = {"name": name, "value": str(draw.randint(*span)), "unit": unit, "note": note}
        events.append({"ago": ago, "what": "setting", "key": key, **words})
    return events


def _second(person: Person, limb: Limb) -> list[Event]:
    """A second device with a purpose of its own, made lately and with plenty of room."""
    draw = person.draws("second")
    purpose = "cycling" if "cycling" in person.tags else draw.choice(("swimming", "violin bow holder"))
    key, fitted = f"{limb.side} other", (person.fitted or 200) - 110
    limits = _limits(draw, Body(person), fit_channels(person, limb), fitted, None)
    socket = Worn(fitted, None, "", limits)
    return [_added(person, limb, fitted, key) | {"purpose": purpose}, _fitted(person, limb, socket, key, None)]


def _without_socket(person: Person) -> list[Event]:
    if "cosmetic" not in person.tags:
        return []
    return [_added(person, person.limbs[0], person.asked_ago - 120, "only")]
