"""Turns of the story that concern parts of more than one person, or a slip of the pen: written by hand."""

from __future__ import annotations

from seed_data.cast import Event, Person

_TURNS: dict[str, tuple[Event, ...]] = {
    # One motor in three devices: her first hand, then lent to a fisherman, then her second hand.
    "Aoife Brannigan": (
        {"ago": 778, "what": "parts", "key": "right 1", "put": {"motor": {"lot": "mer motors 1", "serial": "0417"}}},
        {"ago": 410, "what": "parts", "key": "right 2", "put": {"motor": {"lot": "mer motors 1", "serial": "0422"}}},
        {
            "ago": 288,
            "what": "part_moved",
            "key": "right 1",
            "slot": "motor",
            "to": ["Gwilym Prosser", "right 1"],
            "note": "Lent until his new one comes; the older hand rests in the workshop.",
        },
        {
            "ago": 152,
            "what": "parts_off",
            "key": "right 2",
            "slots": ["motor"],
            "why": "broken",
            "note": "Runs, but no longer pulls: the gearbox is worn.",
        },
    ),
    "Gwilym Prosser": (
        {"ago": 540, "what": "parts", "key": "right 1", "put": {"motor": {"lot": "mer motors 1", "serial": "0425"}}},
        {
            "ago": 300,
            "what": "parts_off",
            "key": "right 1",
            "slots": ["motor"],
            "why": "broken",
            "note": "Salt got in.",
        },
        {
            "ago": 150,
            "what": "part_moved",
            "key": "right 1",
            "slot": "motor",
            "to": ["Aoife Brannigan", "right 2"],
            "note": "Back to her, now that his own has come.",
        },
        {"ago": 150, "what": "parts", "key": "right 1", "put": {"motor": {"lot": "mer motors 2", "serial": "1103"}}},
    ),
    "Callum Rooke": (
        {"ago": 259, "what": "parts", "key": "left 1", "put": {"strap again": {"lot": "mer straps 2"}}},
        {
            "ago": 258,
            "what": "part_struck",
            "key": "left 1",
            "slot": "strap again",
            "why": "There is one strap only; it was recorded twice.",
        },
    ),
}


def turns(person: Person) -> list[Event]:
    """What was written by hand for one person, oldest first."""
    return sorted(_TURNS.get(person.name, ()), key=lambda event: -int(str(event["ago"])))


def motors_told(person: Person) -> bool:
    """Whether the motors of a person are told by hand."""
    return any("motor" in str(event.get("put")) for event in turns(person))
