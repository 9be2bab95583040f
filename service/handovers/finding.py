"""What is in place in a case as a fitting sees it: which stays end, and which go over from another device."""

from __future__ import annotations

from collections.abc import Sequence

from service.access.work import Work
from service.assembly.answers import PlacedPart
from service.assembly.rules import slot
from service.assembly.stays import placed
from service.builds.tables import BuildItemRow
from service.devices.tables import DeviceRow
from service.handovers.schemas import CameOff, FitBuild
from service.kit.errors import Invalid
from service.parts.rules import PartKind


def in_place(work: Work, recipient_id: int) -> list[PlacedPart]:
    """Every part and socket that is in a device of a person now."""
    return [each for each in placed(work, DeviceRow.recipient_id == recipient_id) if each.until is None]


def coming_off(
    there: Sequence[PlacedPart], device_id: int | None, items: Sequence[BuildItemRow], command: FitBuild
) -> list[tuple[PlacedPart, CameOff]]:
    """The stays that end, each with why; raises Invalid for what is not there, and where nobody said why.

    What sits where only one part can be has to come off before another goes there.
    """
    here = [each for each in there if each.device == device_id]
    ends: list[tuple[PlacedPart, CameOff]] = []
    for at, given in enumerate(command.came_off):
        stay = _which(here, given)
        if stay is None:
            raise Invalid.at(
                f"came_off.{at}.part", "There is no such part in place in this device. Look at the device."
            )
        if stay in [each for each, _given in ends]:
            raise Invalid.at(f"came_off.{at}.part", "This part is named twice. It came off once.")
        ends.append((stay, given))
    off = {id(each) for each, _given in ends}
    for item in items:
        taken = taken_by(here, item)
        if taken is not None and id(taken) not in off:
            number = f"part {taken.part}" if taken.part else f"socket {taken.socket}"
            said = f"Say why the {taken.called} came off: a new one takes its place ({number})."
            raise Invalid.at("came_off", said)
    return ends


def going_over(there: Sequence[PlacedPart], device_id: int | None, command: FitBuild) -> list[PlacedPart]:
    """The stays in other devices of the same person that go over to this one; raises Invalid for what is not there."""
    found = []
    for at, part in enumerate(command.moved):
        stay = next((each for each in there if each.part == part and each.place and each.device != device_id), None)
        if stay is None:
            said = "There is no such part in another device of this case. What stays in this device needs no moving."
            raise Invalid.at(f"moved.{at}", said)
        found.append(stay)
    return found


def _which(here: Sequence[PlacedPart], given: CameOff) -> PlacedPart | None:
    if given.part is not None:
        return next((each for each in here if each.part == given.part), None)
    return next((each for each in here if given.socket is not None and each.socket == given.socket), None)


def taken_by(here: Sequence[PlacedPart], item: BuildItemRow) -> PlacedPart | None:
    """The part that is where an item goes, if only one can be there."""
    if item.spare:
        return None
    if item.place_id is not None:
        return next((each for each in here if each.place == item.place_id), None)
    if item.kind is PartKind.SOCKET:
        return next((each for each in here if each.socket is not None), None)
    filled = slot(item.kind, item.digit)
    return next((each for each in here if filled is not None and slot(each.kind, each.digit) == filled), None)
