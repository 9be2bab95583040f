"""What putting, moving and taking off parts have in common; `actions.py` has the use cases.

The device is locked before anything is looked at, so that of two people at once the second finds what the first did;
a move locks both devices, the one with the lower id first, so that two moves crossing each other do not wait for good.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.choosing import as_member
from service.assembly.particulars import Setting
from service.assembly.rules import Member, Reason, Stay, Why, leaving_problem, misfits, part_called, room_problem, slot
from service.assembly.stays import STANDING
from service.assembly.tables import PartRow, PlaceRow
from service.devices.fitting import check_past
from service.devices.rules import EndReason, Use
from service.devices.tables import DeviceRow
from service.kit.errors import Conflict, Doubt, Doubted, Invalid, NotFound
from service.parts.tables import VersionRow
from service.recipients.queries import seen_recipient
from service.recipients.schemas import SeenRecipient
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow

STOPPED = "This device is stopped. Put it back in use before you put a part in place."
STRUCK = "This was struck through already, as recorded by mistake. There is nothing more to do."


def own_device(work: Work, case_number: str, device_id: int) -> tuple[SeenRecipient, DeviceRow]:
    """A device of a case, locked; raises NotFound for any other."""
    seen = seen_recipient(work, case_number)
    row = work.session.get(DeviceRow, device_id, with_for_update=True)
    if row is None or row.recipient_id != seen.id:
        raise NotFound("There is no such device in this case.")
    return seen, row


def own_place(work: Work, case_number: str, place_id: int, *also: int) -> tuple[SeenRecipient, DeviceRow, PlaceRow]:
    """A stay in a device of a case, locked with the device, and with other devices; raises NotFound for any other."""
    seen = seen_recipient(work, case_number)
    of_case = sa.select(DeviceRow.id).where(DeviceRow.recipient_id == seen.id)
    device_id = work.session.scalar(
        sa.select(PlaceRow.device_id).where(PlaceRow.id == place_id, PlaceRow.device_id.in_(of_case))
    )
    if device_id is None:
        raise NotFound("There is no such part in place in this case.")
    for each in sorted({device_id, *also}):
        work.session.get_one(DeviceRow, each, with_for_update=True)
    row = work.session.get_one(PlaceRow, place_id, with_for_update=True)
    return seen, work.session.get_one(DeviceRow, device_id), row


def device_of_anyone(work: Work, device_id: int) -> SeenRecipient:
    """Whose device it is; raises Invalid unless the actor may see that case."""
    number = work.session.scalar(
        sa.select(RecipientRow.case_number)
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .where(DeviceRow.id == device_id, visible(work.actor, work.today))
    )
    if number is None:
        raise Invalid.at("device", "There is no such device among the cases you may see. Look it up on its case.")
    return seen_recipient(work, number)


def open_for_parts(work: Work, where: Setting, field: str = "on") -> None:
    """Raises Conflict for a device that is stopped, and Invalid for a day that cannot be."""
    if where.device.use is Use.STOPPED:
        raise Conflict(STOPPED)
    check_past(work, where.seen, field, where.on)


def keep_room(work: Work, device_id: int, part: PartRow, wanted: Stay, *besides: int) -> None:
    """Raises Conflict or Invalid when another part is where only one can be; stays in `besides` are not looked at."""
    filled = slot(part.kind, part.digit)
    if filled is None:
        return
    stays = sa.select(PartRow.kind, PartRow.digit, PlaceRow.id, PlaceRow.since, PlaceRow.until)
    rows = work.session.execute(
        stays.join(PlaceRow, PlaceRow.part_id == PartRow.id).where(PlaceRow.device_id == device_id, STANDING)
    ).all()
    others = [row for row in rows if row.id not in besides and slot(row.kind, row.digit) == filled]
    there = [Stay(row.since, row.until) for row in others]
    now = [stay for stay in there if stay.until is None]
    name = part_called(part.kind, part.digit)
    if (problem := room_problem(name, wanted, now)) is not None:
        raise Conflict(problem)
    if (problem := room_problem(name, wanted, there)) is not None:
        raise Invalid.at("on", problem)


def neighbours(work: Work, where: Setting, *besides: int) -> list[Member]:
    """What else was in place in a device on the day; without its socket, which joins nothing by an interface."""
    rows = work.session.execute(
        sa.select(PartRow.kind, PartRow.digit, PartRow.scale_across, PartRow.scale_along, VersionRow.interface)
        .join(PlaceRow, PlaceRow.part_id == PartRow.id)
        .outerjoin(VersionRow, VersionRow.id == PartRow.version_id)
        .where(PlaceRow.device_id == where.device.id, PlaceRow.id.not_in(besides), STANDING)
        .where(PlaceRow.since <= where.on, sa.or_(PlaceRow.until.is_(None), PlaceRow.until > where.on))
        .order_by(PlaceRow.id)
    )
    return [as_member(row, row.interface or "") for row in rows]


def unfitting(part: Member, others: Iterable[Member], field: str | None = None) -> list[Doubt]:
    """What does not go with what else is in place, as doubts, at their own fields unless all are at one."""
    return [Doubt(field or _FIELDS[reason.why], _about(reason)) for reason in misfits(part, others)]


def settle(doubts: Sequence[Doubt], *, confirmed: bool) -> list[str]:
    """The doubts as they are stored; raises Doubted unless there are none or somebody confirmed them."""
    if doubts and not confirmed:
        raise Doubted(tuple(doubts))
    return [each.message for each in doubts]


def may_leave(work: Work, seen: SeenRecipient, row: PlaceRow, reason: EndReason, where: Setting) -> None:
    """Raises Conflict or Invalid when a part cannot have come off like that."""
    if row.came_off is EndReason.MISTAKE:
        raise Conflict(STRUCK)
    if row.until is not None:
        raise Conflict("This part has come off already; the day and the reason are on record.")
    if reason is EndReason.MISTAKE:
        raise Invalid.at("came_off", "If it never was in place, strike it through instead, and say why.")
    if reason is EndReason.MOVED:
        raise Invalid.at("came_off", "If it went into another device, move it there, so that it is found on that limb.")
    check_past(work, seen, "on", where.on)
    if (problem := leaving_problem(Stay(row.since, row.until), where.on)) is not None:
        raise Invalid.at("on", problem)


def came_from(work: Work, place_id: int) -> list[int]:
    """The devices that the part of a stay was in, to be locked with its own before one of its stays goes on."""
    part = sa.select(PlaceRow.part_id).where(PlaceRow.id == place_id).scalar_subquery()
    return list(work.session.scalars(sa.select(PlaceRow.device_id).where(PlaceRow.part_id == part).distinct()))


def neighbouring_stays(work: Work, row: PlaceRow) -> tuple[PlaceRow | None, PlaceRow | None]:
    """The stays of the same part before and after one, struck ones aside."""
    others = sa.select(PlaceRow).where(PlaceRow.part_id == row.part_id, PlaceRow.id != row.id, STANDING)
    standing = work.session.scalars(others.order_by(PlaceRow.since, PlaceRow.id)).all()
    place = (row.since, row.id)
    before = [each for each in standing if (each.since, each.id) < place]
    after = [each for each in standing if (each.since, each.id) > place]
    return (before[-1] if before else None), (after[0] if after else None)


_FIELDS = {Why.INTERFACE: "version", Why.SCALE: "scale_across"}


def _about(reason: Reason) -> str:
    return f"{reason.sentence} Look at the version and the scales once more."
