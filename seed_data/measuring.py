"""Sessions with the tape: which sizes are taken of whom, how often, and the slips people make."""

from __future__ import annotations

from random import Random

from seed_data.cast import Event, Limb, Person
from seed_data.growing import Body, Channel, taken
from service.anthropometry import Dimension

_LEVELS = {  # mm from the landmark, as far as the limb reaches when the person is small
    "forearm_upper": (30, 50),
    "forearm_middle": (30, 60),
    "forearm_lower": (30, 60, 90),
    "wrist": (40, 80),
    "upper_arm_middle": (80, 120),
    "upper_arm_lower": (80, 120),
    "elbow": (100, 180),
}
_CUFF_OF_FOREARM = 0.55  # where the cuff of a hand device sits, as a share of the forearm
_LENGTH_VARIES = {"forearm_upper", "forearm_middle", "forearm_lower", "upper_arm_middle", "upper_arm_lower"}
ACROMION = "the acromion, measuring distally"

_CHILD_EVERY, _ADULT_EVERY = 215, 430
_OVERDUE_SINCE = 300
_METHODS = ("tape", "tape", "tape", "tape", "clinic_letter", "family")
_MAKERS_METHODS = ("cast", "scan", "tape")
_BY = {
    "tape": ("Bryony Sedge", "Teun Harkema", "Odile Fenn"),
    "cast": ("Teun Harkema",),
    "scan": ("Odile Fenn",),
    "clinic_letter": ("Children's clinic, by letter",),
    "family": ("At home",),
}


def fit_channels(person: Person, limb: Limb) -> list[Channel]:
    """The sizes a socket or a hand device is made to, the one that usually grows out of it first."""
    if limb.in_hand:
        cuff = int(Body(person).size(Channel(Dimension.FOREARM_LENGTH), 0) * _CUFF_OF_FOREARM // 10) * 10
        girths = [Channel(Dimension.FOREARM_GIRTH, limb.side, level) for level in (cuff, cuff - 30)]
        return girths if limb.level == "carpal" else [Channel(Dimension.HAND_BREADTH, limb.side), girths[0]]
    return [Channel(Dimension.RESIDUAL_LIMB_GIRTH, limb.side, level) for level in _LEVELS.get(limb.level, ())]


def sessions(person: Person, fittings: list[int]) -> list[Event]:
    """Every session of a person; `fittings` are the days a socket was fitted, each made from a session before it."""
    draw = person.draws("sessions")
    body = Body(person)
    days = _days(draw, person, fittings)
    chosen = [draw.choice(_MAKERS_METHODS if for_socket else _METHODS) for _, for_socket in days]
    found = [_session(draw, person, body, ago, method) for (ago, _), method in zip(days, chosen, strict=True)]
    return found + _turns(person, found)


def _days(draw: Random, person: Person, fittings: list[int]) -> list[tuple[int, bool]]:
    """(days ago, whether a socket is made from it): before each fitting, and follow-up visits between."""
    days = {ago + draw.randint(24, 45): True for ago in fittings}
    every = _CHILD_EVERY if person.is_child else _ADULT_EVERY
    ago = person.asked_ago - draw.randint(12, 40)
    stop = _OVERDUE_SINCE if "overdue" in person.tags else draw.randint(6, 70)
    stop = max(stop, (person.stopped_ago or 0) if "left" in person.tags else 0)
    while ago > stop and person.state != "enquiry":
        if all(abs(ago - other) > every / 3 for other in days):
            days[ago] = False
        ago -= round(every * draw.uniform(0.8, 1.25))
    if not person.tags & {"overdue", "left"} and person.state == "active" and min(days, default=every) > 0.65 * every:
        days[min(stop, person.asked_ago // 2)] = False
    return sorted(((ago, made) for ago, made in days.items() if ago < person.asked_ago), reverse=True)


def _session(draw: Random, person: Person, body: Body, ago: int, method: str) -> Event:
    repeats = {"clinic_letter": 1, "scan": 1, "tape": draw.choice((2, 3, 3))}.get(method, 2)
    readings = [
        _reading(person, channel, taken(draw, body.size(channel, ago), channel, method, repeats))
        for channel in _taken_today(draw, person, method)
    ]
    by = draw.choice(_BY[method])
    return {"ago": ago, "what": "measured", "method": method, "taken_by": by, "readings": readings}


def _taken_today(draw: Random, person: Person, method: str) -> list[Channel]:
    """What the socket needs is taken every time, the rest when there is time for it."""
    channels = [channel for limb in person.limbs for channel in fit_channels(person, limb)]
    if draw.random() < 0.6:
        with_length = [limb for limb in person.limbs if limb.level in _LENGTH_VARIES]
        channels += [Channel(Dimension.RESIDUAL_LIMB_LENGTH, limb.side) for limb in with_length]
    if person.sound_side and draw.random() < 0.7:
        channels += [Channel(each, person.sound_side) for each in (Dimension.HAND_LENGTH, Dimension.HAND_BREADTH)]
    if not channels or (method != "family" and draw.random() < (0.8 if person.is_child else 0.3)):
        channels += [Channel(Dimension.HEIGHT), Channel(Dimension.WEIGHT)]
    return channels


def _reading(person: Person, channel: Channel, values: list[float]) -> Event:
    limb = person.limb(channel.side)
    reading: Event = {"dimension": channel.dimension.value, "values": values}
    if channel.side:
        reading["side"] = channel.side
    if channel.level_mm is not None:
        reading["level_mm"] = channel.level_mm
    if limb is not None and limb.above_elbow and channel.level_mm is not None:
        reading["landmark"] = ACROMION
    return reading


def _turns(person: Person, found: list[Event]) -> list[Event]:
    """A limb grown thin in hospital, or a slip corrected a few days later; `found` is changed to show it."""
    turning = found[len(found) // 2]
    readings = turning["readings"]
    assert isinstance(readings, list)  # noqa: S101 the line above made it
    if "confirmed" in person.tags:
        turning["note"] = "Thinner after three weeks in hospital; measured twice."
        for reading in readings:
            if reading["dimension"] in {"residual_limb_girth", "weight"}:
                reading["values"] = [round(value * 0.925, 1) for value in reading["values"]]
    if "corrected" in person.tags:
        right = readings[0]["values"]
        readings[0]["values"] = [value + 10 for value in right]
        turning["key"] = "slip"
        return [
            {
                "ago": int(str(turning["ago"])) - 6,
                "what": "corrected",
                "key": "slip",
                "reading": 0,
                "values": right,
                "why": "Read the wrong centimetre on the tape; the photograph of it shows so.",
            }
        ]
    return []
