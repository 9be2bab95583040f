"""Which device and which parts a request is about: read from what is in place, and from what may replace it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.answers import PlacedPart, Replacement
from service.assembly.choosing import replacements_for, vacancy
from service.assembly.rules import Stay, digit_problem
from service.assembly.stays import placed, stays_at
from service.assembly.tables import PlaceRow
from service.devices.rules import Use
from service.devices.tables import DeviceRow, SocketRow
from service.kit.errors import FieldError, Invalid, NotFound
from service.parts.rules import Digit, PartKind, VersionState
from service.recipients.rules import read_case_number
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow
from service.requests.rules import RequestKind, part_key
from service.requests.schemas import AskPart, AskRequest
from service.requests.tables import RequestPartRow


@dataclass(frozen=True)
class Named:
    """A part that is asked for, with the text that says which need it is."""

    key: str
    row: RequestPartRow


def whose(work: Work, case_number: str) -> RecipientRow:
    """The recipient of a case the actor may see, locked: of two who ask at once, the second sees the first's request.

    Raises NotFound, alike for a case that is not there and one that is not theirs.
    """
    number = read_case_number(case_number)
    mine = sa.select(RecipientRow).where(RecipientRow.case_number == number, visible(work.actor, work.today))
    found = work.session.scalars(mine.with_for_update(of=RecipientRow)).one_or_none()
    if found is None:
        raise NotFound("There is no case with this number among those you may see.")
    return found


def which_device(work: Work, recipient: RecipientRow, command: AskRequest) -> DeviceRow | None:
    """The device a request is about, None if about none; raises Invalid where it has to be said."""
    if command.kind is RequestKind.FIRST_DEVICE:
        return None
    mine = sa.select(DeviceRow).where(DeviceRow.recipient_id == recipient.id).order_by(DeviceRow.id)
    devices = {row.id: row for row in work.session.scalars(mine)}
    if command.device is not None:
        if command.device not in devices:
            raise Invalid.at("device", "This case has no such device. Choose one of its own.")
        return devices[command.device]
    if command.kind is RequestKind.ADVICE:
        return None
    of_parts = _devices_of_parts(work, command.parts, devices)
    if len(of_parts) > 1:
        said = "These parts are in different devices. Ask for those of each device in a request of its own."
        raise Invalid.at("parts", said)
    if of_parts:
        return devices[of_parts.pop()]
    used = [row for row in devices.values() if row.use is Use.IN_USE]
    if command.kind is RequestKind.NEXT_SOCKET and len(used) > 1:
        in_place = sa.select(SocketRow.device_id).where(SocketRow.ended_on.is_(None))
        with_socket = set(work.session.scalars(in_place.where(SocketRow.device_id.in_([row.id for row in used]))))
        used = [row for row in used if row.id in with_socket] or used
    if len(used) > 1:
        choices = "; ".join(f"{row.id}: {row.side.value}, {row.purpose}" for row in used)
        raise Invalid.at("device", f"Say which device it is about ({choices}).")
    return used[0] if used else None


def name_parts(
    work: Work, recipient: RecipientRow, device: DeviceRow | None, parts: Sequence[AskPart]
) -> tuple[Named, ...]:
    """The parts that are asked for, each as it is worn and with the version to be made of it.

    Raises Invalid for a place that is not of the case, for a part said twice, and for one that cannot be.
    """
    now = placed(work, DeviceRow.id == device.id) if device else []
    found = [
        _named(work, recipient, device, now, part=part, field=f"parts.{index}") for index, part in enumerate(parts)
    ]
    keys = [each.key for each in found]
    twice = next((index for index, key in enumerate(keys) if key in keys[:index]), None)
    if twice is not None:
        said = "This part is said twice. If several are needed, say so in its quantity."
        raise Invalid(said, fields=(FieldError(f"parts.{twice}", said),))
    return tuple(found)


def _devices_of_parts(work: Work, parts: Iterable[AskPart], devices: dict[int, Any]) -> set[int]:
    places = [part.place for part in parts if part.place is not None]
    if not places:
        return set()
    of = sa.select(PlaceRow.device_id).where(PlaceRow.id.in_(places), PlaceRow.device_id.in_(devices))
    return set(work.session.scalars(of))


def _named(
    work: Work,
    recipient: RecipientRow,
    device: DeviceRow | None,
    now: Sequence[PlacedPart],
    *,
    part: AskPart,
    field: str,
) -> Named:
    there = _there(work, recipient, now, part, field)
    if there is None:
        return _by_kind(device, part, field)
    chosen = _proposed(work, recipient, device, now, there)
    row = RequestPartRow(
        place_id=there.place,
        kind=there.kind,
        what=there.what or part.words,
        digit=there.digit,
        side=there.side or (device.side if device else None),
        happened=part.happened,
        version_id=chosen.version if chosen else None,
        scale_across=chosen.scale_across if chosen else there.scale_across,
        scale_along=chosen.scale_along if chosen else there.scale_along,
        material=chosen.material if chosen else there.material,
        colour=part.colour or there.colour,
        quantity=part.quantity,
    )
    return Named(part_key(there.place, there.kind.value, there.digit, part.happened), row)


def _there(
    work: Work, recipient: RecipientRow, now: Sequence[PlacedPart], part: AskPart, field: str
) -> PlacedPart | None:
    """The part in place that is meant, by its place, or as the only one of its kind and digit."""
    if part.place is not None:
        stays = stays_at(work, PlaceRow.id == part.place, DeviceRow.recipient_id == recipient.id)
        if not stays or stays[0].mistaken:
            raise Invalid.at(f"{field}.place", "There is no such part in place in this case. Choose one that is worn.")
        if part.kind not in {None, stays[0].kind} or part.digit not in {None, stays[0].digit}:
            said = f"The part in this place is the {stays[0].called}. Leave its kind and digit out, or correct them."
            raise Invalid.at(f"{field}.kind", said)
        return stays[0]
    digit = Digit.THUMB if part.kind is PartKind.THUMB else part.digit
    alike = [
        each
        for each in now
        if each.place is not None
        and each.kind is part.kind
        and (each.digit or _digit_of(each.kind)) == digit
        and Stay(each.since, each.until).covers(work.today)
    ]
    return alike[0] if len(alike) == 1 else None


def _digit_of(kind: PartKind) -> Digit | None:
    return Digit.THUMB if kind is PartKind.THUMB else None


def _by_kind(device: DeviceRow | None, part: AskPart, field: str) -> Named:
    """A part of which nothing is recorded: it is named by its kind, and somebody chooses the version."""
    if part.kind is None:
        said = "Say which part it is: its place in the device, or its kind, with the digit of a finger."
        raise Invalid.at(f"{field}.kind", said)
    if (problem := digit_problem(part.kind, part.digit)) is not None:
        raise Invalid.at(f"{field}.digit", problem)
    row = RequestPartRow(
        place_id=None,
        kind=part.kind,
        what=part.words,
        digit=part.digit,
        side=device.side if device else None,
        happened=part.happened,
        version_id=None,
        scale_across=None,
        scale_along=None,
        material="",
        colour=part.colour,
        quantity=part.quantity,
    )
    return Named(part_key(None, part.kind.value, part.digit, part.happened), row)


def _proposed(
    work: Work, recipient: RecipientRow, device: DeviceRow | None, now: Sequence[PlacedPart], there: PlacedPart
) -> Replacement | None:
    """The version to make: the successor of a withdrawn one, or the newest of the same design that fits, or any."""
    if there.version is None or device is None:
        return None
    others = [each for each in now if each.place != there.place and Stay(each.since, each.until).covers(work.today)]
    found = replacements_for(work, recipient.site_id, there, vacancy(there, device.side, others), None)
    fitting = [each for each in found.items if each.fits]
    if there.version.state is VersionState.WITHDRAWN:
        successor = next((each for each in fitting if each.version == there.version.successor), None)
        if successor is not None:
            return successor
    design = there.version.name.rsplit(", version", 1)[0]
    same = [each for each in fitting if each.name.rsplit(", version", 1)[0] == design]
    return max(same, key=lambda each: each.number, default=None) or next(iter(fitting), None)
