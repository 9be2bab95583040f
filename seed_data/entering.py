"""Parts entered late: where a site began to record parts after they were put in, only what was still there is known."""

from __future__ import annotations

from seed_data.cast import Event

_SAME_DAY = ("parts_off", "part_moved", "parts")


def entered(events: list[Event], since: int) -> list[Event]:
    """The events as they are on record where parts were entered `since` so many days ago.

    What had come off by then is not known. What was in place is entered on that day with the day it was put in, which
    is `in_days` (negative) from it.
    """
    in_order = sorted(events, key=lambda each: (-int(str(each["ago"])), _SAME_DAY.index(str(each["what"]))))
    there: dict[tuple[str, str], tuple[Event, Event]] = {}
    for event in in_order:
        if int(str(event["ago"])) > since:
            _replay(there, event)
    entries: dict[tuple[str, str, str], Event] = {}
    for (key, slot), (event, part) in there.items():
        ago = int(str(event["ago"]))
        entry = entries.setdefault(
            (key, str(ago), str(event["scale"])),
            {**event, "ago": since, "key": key, "put": {}, "in_days": since - ago},
        )
        _parts(entry)[slot] = part
    return [*entries.values(), *(event for event in in_order if int(str(event["ago"])) <= since)]


def _replay(there: dict[tuple[str, str], tuple[Event, Event]], event: Event) -> None:
    key = str(event["key"])
    if event["what"] == "parts":
        there |= {(key, slot): (event, part) for slot, part in _parts(event).items()}
    elif event["what"] == "parts_off":
        slots = event["slots"]
        assert isinstance(slots, list)  # noqa: S101 told so
        for slot in slots:
            del there[key, slot]
    else:
        slot, to = str(event["slot"]), event["to"]
        assert isinstance(to, list)  # noqa: S101 told so
        event_before, part = there.pop((key, slot))
        there[to[1], slot] = ({**event_before, "ago": event["ago"]}, part)


def _parts(event: Event) -> dict[str, Event]:
    put = event["put"]
    assert isinstance(put, dict)  # noqa: S101 told so
    return put
