"""Casts and scans of limbs, the sockets drawn over them, and the fittings of those sockets.

A socket told in `wearing.py` has limits at a few levels. Here its inside is drawn through them, so that what the
register works out from the file agrees with the story, and the fitting names the version and its scales instead. Who is
`rescaled` wore the version before, as drawn; the newest socket is the same file, larger.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from seed_data.cast import Event, Limb, Person
from seed_data.growing import Body, Channel
from seed_data.stock import spool
from service.anthropometry import Dimension

Limits = dict[int, float]
Profile = list[list[float]]

_BRIM = 8  # mm below the landmark
_LINERS = {True: 0.0, False: 2.0}  # of children, of adults
_DRAWN_FOR = (12, 19)  # days from the drawing to the fitting
_SETTINGS = {
    "nozzle_mm": 0.6,
    "layer_mm": 0.3,
    "walls": 5,
    "infill": 1.0,
    "orientation": "brim up",
    "supports": "none",
}
_CHECKS = ["sharp_edges", "edge_radius", "layers", "heat", "label"]
_HOW = {"cast": "Plaster over a stockinette, levels marked.", "scan": "Arm held out over a turntable, two passes."}
_NEXT_MADE_AGO = 9
_ROOM_OF_A_DRAFT = 0.055


@dataclass(frozen=True)
class _Fitted:
    """A socket as it was told: its event, and tight-at by level in mm."""

    event: Event
    ago: int
    limits: Limits


def shaped(person: Person, told: list[Event]) -> list[Event]:
    """All that was told, with shapes and the sockets made from them in place of sockets from elsewhere."""
    if not person.tags & {"cast", "scan"}:
        return told
    limb = person.limbs[0]
    fitted = _fitted(told)
    if "crushed" in person.tags:
        return [*told, *_shape(person, limb, _NEXT_MADE_AGO + 8), _next(person, limb, fitted[-1])]
    base = fitted[-2] if "rescaled" in person.tags else fitted[-1]
    liner = _LINERS[person.is_child]
    made = [
        *_shape(person, limb, _session_before(told, base.ago)),
        *_version(person, limb, base, liner),
        _printed(person, base, (1.0, 1.0)),
    ]
    replaced = [base]
    if base is not fitted[-1]:
        made.append(_printed(person, fitted[-1], _scales(person, limb, base, fitted[-1], liner)))
        replaced.append(fitted[-1])
    gone = [each.event for each in replaced]
    return [event for event in told if event not in gone] + made


def _fitted(told: list[Event]) -> list[_Fitted]:
    found = []
    for event in told:
        if event["what"] == "socket" and not str(event["key"]).endswith("other"):
            limits = event["limits"]
            assert isinstance(limits, list)  # noqa: S101 told so
            found.append(
                _Fitted(event, int(str(event["ago"])), {each["level_mm"]: each["tight_at_mm"] for each in limits})
            )
    return sorted(found, key=lambda each: -each.ago)


def _session_before(told: list[Event], fitted: int) -> int:
    return min(
        int(str(event["ago"])) for event in told if event["what"] == "measured" and int(str(event["ago"])) > fitted
    )


def _shape(person: Person, limb: Limb, ago: int) -> list[Event]:
    method = "cast" if "cast" in person.tags else "scan"
    body = Body(person)
    profile = [[level, round(_limb_girth(body, limb, level, ago), 1)] for level in _levels(body, limb, ago)]
    event: Event = {
        "ago": ago,
        "what": "shape",
        "key": "shape",
        "side": limb.side,
        "method": method,
        "drawn": "limb",
        "with": {"profile": profile, "closed": method == "cast"},
        "format": "3mf" if method == "cast" else "stl",
        "taken_by": "Teun Harkema" if method == "cast" else "Odile Fenn",
        "note": _HOW[method],
    }
    return [event]


def _version(person: Person, limb: Limb, socket: _Fitted, liner: float) -> list[Event]:
    drawn = socket.ago + person.draws("drawn").randint(*_DRAWN_FOR)
    return [
        _drawn(person, limb, socket, drawn, liner),
        {
            "ago": drawn - 2,
            "what": "socket_version_released",
            "key": "socket",
            "why": "Laid over the marked cast: room where it was meant, none at the brim."
            if "cast" in person.tags
            else "Compared with the tape at every level measured.",
        },
    ]


def _drawn(person: Person, limb: Limb, socket: _Fitted, ago: int, liner: float) -> Event:
    return {
        "ago": ago,
        "what": "socket_version",
        "key": "socket",
        "shape": "shape",
        "drawn": "socket",
        "with": {"profile": _inside(person, limb, socket, liner), "wall": 3.0 if person.is_child else 3.6},
        "format": "3mf",
        "inside": {"level_at_origin_mm": _BRIM, "liner_mm": liner},
        "what_changed": "Drawn over the shape, with room to grow." if person.is_child else "Drawn over the shape.",
        "why": "The socket before it was outgrown.",
        "materials": ["PETG"],
        "settings": _SETTINGS,
        "checks": _CHECKS,
    }


def _next(person: Person, limb: Limb, worn: _Fitted) -> Event:
    """A draft for somebody who has no socket now, with room to grow over the limb as it is."""
    body = Body(person)
    roomy = {level: _limb_girth(body, limb, level, 0) * (1 + _ROOM_OF_A_DRAFT) for level in worn.limits}
    drawn = _drawn(person, limb, _Fitted(worn.event, 0, roomy), _NEXT_MADE_AGO, _LINERS[person.is_child])
    return {**drawn, "why": "The socket before it was crushed."}


def _printed(person: Person, socket: _Fitted, scales: tuple[float, float]) -> Event:
    across, along = scales
    kept = {name: value for name, value in socket.event.items() if name not in {"what", "limits"}}
    lot = spool(person.site, ("PETG",), ("black", "white", "grey"), socket.ago + 3)
    return {**kept, "what": "socket_printed", "version": "socket", "across": across, "along": along, "lot": lot.key}


def _scales(person: Person, limb: Limb, base: _Fitted, new: _Fitted, liner: float) -> tuple[float, float]:
    """Along as the limb lengthened; across as the new limits ask at levels that by then lie elsewhere in the file."""
    body = Body(person)
    lengths = [body.size(Channel(Dimension.RESIDUAL_LIMB_LENGTH, limb.side), each.ago) for each in (base, new)]
    along = round(lengths[1] / lengths[0], 3)
    profile = _inside(person, limb, base, liner)
    asked = [(tight + 2 * pi * liner) / _at(profile, level / along) for level, tight in new.limits.items()]
    return round(sum(asked) / len(asked), 3), along


def _inside(person: Person, limb: Limb, socket: _Fitted, liner: float) -> Profile:
    """Inner girths that are tight where the story says, and shaped as the limb is between and beyond."""
    body = Body(person)
    room = [
        [level, tight / _limb_girth(body, limb, level, socket.ago)] for level, tight in sorted(socket.limits.items())
    ]
    return [
        [level, round(_limb_girth(body, limb, level, socket.ago) * _at(room, level) + 2 * pi * liner, 2)]
        for level in sorted({*_levels(body, limb, socket.ago), *socket.limits})
    ]


def _levels(body: Body, limb: Limb, ago: int) -> list[int]:
    """From the brim to where the end begins to round, every two centimetres or so."""
    length = body.size(Channel(Dimension.RESIDUAL_LIMB_LENGTH, limb.side), ago)
    last = max(int(length) - 6, 54 if limb.level == "forearm_upper" else 64)
    return [_BRIM, *range(_BRIM + 22, last - 8, 20), last]


def _limb_girth(body: Body, limb: Limb, level: int, ago: int) -> float:
    return body.size(Channel(Dimension.RESIDUAL_LIMB_GIRTH, limb.side, level), ago)


def _at(profile: list[list[float]], level: float) -> float:
    """Between the levels along a straight line, beyond them as the nearest."""
    before = [each for each in profile if each[0] <= level] or profile[:1]
    after = [each for each in profile if each[0] >= level] or profile[-1:]
    (low, first), (high, second) = before[-1], after[0]
    return first if high == low else first + (second - first) * (level - low) / (high - low)
