"""Which parts a device has, how soon each breaks or wears out, and what is said of it then."""

from __future__ import annotations

from seed_data.cast import Event, Person
from seed_data.turns import motors_told

FINGERS = ("index", "middle", "ring", "little")
DIGITS = ("thumb", *FINGERS)
SCALED = ("palm", *DIGITS)
"""Slots that are printed at the hand's own scale, and made anew together."""

_FAIRLEAD = {
    "palm": "Fairlead palm",
    "thumb": "Fairlead thumb",
    **dict.fromkeys(FINGERS, "Fairlead finger"),
    "coupling": "Oarlock coupling",
}
_TILLER = {
    "palm": "Tiller palm",
    "thumb": "Tiller thumb",
    **dict.fromkeys(FINGERS, "Tiller finger"),
    "coupling": "Oarlock coupling, wide",
}
_DRIVEN_BY_LINES = ("fastener", "line", "elastic", "strap")
_LIKE_A_COVER = 0.35
_MOTORS = ("motor", "board", "battery")

COUPLING_1_BREAKS, COUPLING_2_BREAKS = 1.00, 0.50
"""How often a year the first and the second version of the Oarlock coupling break, whoever wears them and however long
they have been in: the second lasts exactly twice as long. The register is to find that out.
"""

_A_YEAR = {  # how often, by design and version, or by what was bought
    "Fairlead palm 1": 0.24,
    "Fairlead palm": 0.08,
    "Fairlead finger 1": 0.42,
    "Fairlead finger": 0.2,
    "Fairlead thumb": 0.16,
    "Oarlock coupling 1": COUPLING_1_BREAKS,
    "Oarlock coupling 2": COUPLING_2_BREAKS,
    "Oarlock coupling, wide": 0.3,
    "Tiller palm": 0.06,
    "Tiller finger 1": 0.36,
    "Tiller finger": 0.2,
    "Tiller thumb": 0.14,
    "Cleat tool holder": 0.25,
    "Gaiter cover": 0.35,
    "Mitten": 0.5,
    "Sleeve tip": 0.8,
    "line": 0.42,
    "elastic": 0.26,
    "strap": 0.26,
    "fastener": 0.05,
    "harness": 0.3,
    "terminal_device": 0.2,
    "motor": 0.2,
    "board": 0.1,
    "battery": 0.4,
}
_WEARS_OUT = {"Mitten", "Sleeve tip", "elastic", "strap", "harness", "battery", "line"}
_NOTES = {
    "palm": ("A lug split where the pin goes in.", "Dropped on stone steps."),
    "coupling": ("Snapped at the neck, along the layers.", "Neck gave way in a fall.", "Parted at the neck; no fall."),
    "thumb": ("Came off with its pin in a fall.", "Split at the hinge."),
    "finger": (
        "Split along the layers at the line's hole.",
        "Caught in a bicycle wheel.",
        "Snapped in the playground.",
        "Tip came off while pulling on a sock.",
        "Split at the hinge.",
        "Shut in a car door.",
    ),
    "cover": ("Cracked along the slots.",),
    "tool_holder": ("Split beside the slit.",),
    "line": ("Parted at the knot.", "Frayed at the palm's edge."),
    "terminal_device": ("Spring broke.", "One finger of it bent."),
    "motor": ("Runs, but no longer pulls.", "Grinds; a tooth has gone."),
    "board": ("Got wet.",),
}


def layout(person: Person, device: Event, *, tiller: bool) -> dict[str, str]:
    """What each slot of a device is printed from; of what is bought, nothing. Motors told by hand are left out."""
    if str(device["key"]).endswith("other"):
        return {"coupling": "Oarlock coupling", "tool_holder": "Cleat tool holder", "strap": ""}
    if "finger" in person.tags:
        return {"middle": "Sleeve tip"}
    hand = dict(_TILLER if tiller else _FAIRLEAD)
    if tiller:
        hand["palm"] += f", {device['side']}"
    with_motor = tuple(
        each for each in _MOTORS if "powered" in person.tags and not (each == "motor" and motors_told(person))
    )
    for tag, slots in _LAYOUTS.items():
        if tag in person.tags:
            covered = ("cover",) if tag == "hand" and person.draws("cover").random() < _LIKE_A_COVER else ()
            wanted = (*slots, *with_motor, *covered)
            return {slot: _OF_ITS_OWN.get(slot, hand.get(slot, "")) for slot in wanted}
    return {}


_OF_ITS_OWN = {"mitten": "Mitten", "cover": "Gaiter cover"}
_WHOLE_HAND = (*SCALED, "coupling")
_LAYOUTS: dict[str, tuple[str, ...]] = {
    "cosmetic": ("terminal_device",),
    "passive": ("mitten", "coupling", "strap"),
    "body": ("coupling", "terminal_device", "harness", "line"),
    "hook": ("coupling", "terminal_device", "harness", "line"),
    "partial": (*SCALED, *_DRIVEN_BY_LINES),
    "hand": (*_WHOLE_HAND, *_DRIVEN_BY_LINES),
    "cycling": (*_WHOLE_HAND, *_DRIVEN_BY_LINES),
    "powered": (*_WHOLE_HAND, "fastener", "line"),
}


def has_hand(person: Person) -> bool:
    """Whether the everyday device is a whole hand on a coupling, of which there are two kinds."""
    return bool(person.tags & {"hand", "cycling", "powered"}) and "hook" not in person.tags


def rate(slot: str, version: str) -> float:
    """How often a year a part breaks or wears out; `version` is its key, or empty for what is bought."""
    design = version.rpartition(" ")[0]
    return _A_YEAR.get(version) or _A_YEAR.get(design) or _A_YEAR.get(design.partition(",")[0]) or _A_YEAR[slot]


def comes_off(slot: str, version: str) -> tuple[str, tuple[str, ...]]:
    """Why a part comes off when its time has come, and what may be said of it."""
    named = version.rpartition(" ")[0] or slot
    if named in _WEARS_OUT and slot != "line":
        return "worn_out", ("",)
    notes = _NOTES.get("finger" if slot in FINGERS else slot, ("",))
    return ("worn_out" if slot == "line" else "broken"), notes
