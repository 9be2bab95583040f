"""Reading what devices are made of, narrowed to the cases the actor may see."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.assembly import tracing
from service.assembly.answers import (
    AssembliesOn,
    Assembly,
    Offer,
    PlacedPart,
    Replacements,
    SocketPart,
    WornBy,
    WornPart,
)
from service.assembly.choosing import lots_in_use, replacements_for, vacancy
from service.assembly.rules import Scaled, Stay
from service.assembly.schemas import WornFilter
from service.assembly.stays import placed, stays_at
from service.assembly.tables import PartRow, PlaceRow, SocketPartRow
from service.devices.queries import device, devices
from service.devices.rules import Use
from service.devices.schemas import DeviceView
from service.devices.tables import DeviceRow, SocketRow
from service.kit.errors import Invalid, NotFound
from service.kit.paging import after, decode, encode
from service.lots.tables import LotRow
from service.parts.queries import released_versions, shapes, version_facts
from service.parts.rules import PartKind, VersionState
from service.parts.tables import ShapeRow, VersionRow
from service.recipients.queries import seen_recipient
from service.recipients.rules import past_day_problem
from service.recipients.schemas import SeenRecipient
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow


@usecase(May.SEE_CASES)
def parts_in_place(work: Work, case_number: str, on: date | None = None) -> AssembliesOn:
    """Every device of a recipient with what was in place in it when a day ended, today unless given.

    Raises Invalid for a day that has not come or is before the recipient was born.
    """
    seen = seen_recipient(work, case_number)
    day = on or work.today
    if (problem := past_day_problem(day, seen.birth_date, work.today)) is not None:
        raise Invalid.at("on", problem)
    found = placed(work, DeviceRow.recipient_id == seen.id)
    changes = {each for stay in found for each in (stay.since, stay.until) if each is not None}
    return AssembliesOn(
        on=day,
        items=[_assembly(each, found, day) for each in devices(work, case_number)],
        before=max((each for each in changes if seen.birth_date <= each < day), default=None),
        after=min((each for each in changes if day < each <= work.today), default=None),
    )


@usecase(May.SEE_CASES)
def stays(work: Work, case_number: str) -> list[PlacedPart]:
    """Every stay of a part in a device of a recipient, struck ones too, the oldest first; without the sockets."""
    seen = _opened(work, case_number)
    return [each for each in placed(work, DeviceRow.recipient_id == seen.id, struck=True) if each.place is not None]


@usecase(May.SEE_CASES)
def parts_of_device(work: Work, case_number: str, device_id: int) -> list[PlacedPart]:
    """Every stay of a part in one device, struck ones too, the newest first; raises NotFound for another case's."""
    device(work, case_number, device_id)
    return [each for each in reversed(stays(work, case_number)) if each.device == device_id]


@usecase(May.SEE_CASES)
def place(work: Work, case_number: str, place_id: int) -> PlacedPart:
    """One stay of a part; raises NotFound unless it belongs to the case."""
    seen = _opened(work, case_number)
    found = stays_at(work, PlaceRow.id == place_id, DeviceRow.recipient_id == seen.id)
    if not found:
        raise NotFound("There is no such part in place in this case.")
    return found[0]


@usecase(May.SEE_CASES)
def whereabouts(work: Work, case_number: str, place_id: int) -> list[PlacedPart]:
    """Every stay of the part that a stay of this case is about, in cases the actor may see, the oldest first."""
    part = place(work, case_number, place_id).part
    return stays_at(work, PlaceRow.part_id == part, visible(work.actor, work.today))


@usecase(May.SEE_CASES)
def replacements(work: Work, case_number: str, place_id: int, scales: Scaled | None = None) -> Replacements:
    """What may replace a part that is worn, at which scale and colour, and why other versions may not.

    `scales` are those at which something is printed already; None asks at which it would fit. Raises NotFound unless
    the part belongs to the case.
    """
    seen = _opened(work, case_number)
    there = place(work, case_number, place_id)
    side = work.session.scalars(sa.select(DeviceRow.side).where(DeviceRow.id == there.device)).one()
    others = [
        each
        for each in placed(work, DeviceRow.id == there.device)
        if each.place != place_id and Stay(each.since, each.until).covers(work.today)
    ]
    return replacements_for(work, seen.site_id, there, vacancy(there, side, others), scales)


@usecase(May.KEEP_DEVICES)
def to_put(work: Work, case_number: str) -> Offer:
    """What a part of this case may be made of now."""
    seen = _opened(work, case_number)
    kinds = [kind for kind in PartKind if kind is not PartKind.SOCKET]
    return Offer(versions=released_versions(work, kinds), lots=lots_in_use(work, seen.site_id))


@usecase(May.KEEP_DEVICES)
def to_print(work: Work, case_number: str, device_id: int) -> Offer:
    """What a socket of a device may be printed from now: versions made for this person and side, or for anybody."""
    seen, worn_on = _opened(work, case_number), device(work, case_number, device_id).side
    mine = [
        version.id
        for shape in shapes(work, case_number)
        if shape.struck is None and shape.side is worn_on
        for version in shape.versions
        if version.state is VersionState.RELEASED
    ]
    made_for_them = version_facts(work, mine)
    versions = [*(made_for_them[each] for each in mine), *released_versions(work, [PartKind.SOCKET])]
    return Offer(versions=versions, lots=lots_in_use(work, seen.site_id))


@usecase(May.SEE_CASES)
def socket_part(work: Work, socket_ids: Collection[int]) -> dict[int, SocketPart]:
    """What some sockets were printed from, by their ids; one that came from elsewhere is left out."""
    rows = work.session.execute(
        sa.select(
            SocketPartRow.socket_id.label("socket"),
            PartRow.id.label("part"),
            PartRow.version_id.label("version"),
            *(PartRow.scale_across, PartRow.scale_along, PartRow.material, PartRow.colour),
        )
        .join(PartRow, PartRow.id == SocketPartRow.part_id)
        .join(SocketRow, SocketRow.id == SocketPartRow.socket_id)
        .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(SocketPartRow.socket_id.in_(socket_ids), visible(work.actor, work.today))
    )
    return {row.socket: SocketPart.model_validate(row._mapping) for row in rows}


@usecase(May.SEE_CASES)
def worn(work: Work, wanted: WornFilter | None = None, *, lot: int | None = None, version: int | None = None) -> WornBy:
    """Every limb that wears parts of a lot or of a version: of the cases the actor may see, and how many elsewhere.

    Raises NotFound for a lot that is not of the actor's sites, for a private version of a case the actor may not see,
    and Invalid for a day that has not come.
    """
    if (lot is None) is (version is None):
        raise ValueError("ask about a lot or about a version")
    wanted = wanted or WornFilter()
    parts = _of_lot(work, lot) if lot is not None else _of_version(work, version or 0)
    on = None if wanted.ever else wanted.on or work.today
    if on is not None and on > work.today:
        raise Invalid.at("on", "This day has not come yet. Give today or a day before.")

    def page(statement: sa.Select[Any], keys: tuple[sa.ColumnElement[Any], ...]) -> sa.Select[Any]:
        if wanted.cursor is not None:
            statement = statement.where(after(keys, decode(wanted.cursor, (int, int, int))))
        return statement.order_by(*keys).limit(wanted.limit + 1)

    statement = tracing.worn_by(parts, on, today=work.today, seen=visible(work.actor, work.today), page=page)
    rows = work.session.execute(statement).mappings().all()
    found = [row for row in rows if row["part"] is not None]
    last = found[wanted.limit - 1] if len(found) > wanted.limit else None
    return WornBy(
        on=on,
        limbs=rows[0]["limbs"],
        elsewhere=rows[0]["elsewhere"],
        items=[_worn_part(row) for row in found[: wanted.limit]],
        next=encode((last["recipient"], last["is_socket"], last["stay"])) if last else None,
    )


def _opened(work: Work, case_number: str) -> SeenRecipient:
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    return seen


def _assembly(device: DeviceView, found: list[PlacedPart], day: date) -> Assembly:
    parts = [each for each in found if each.device == device.id and Stay(each.since, each.until).covers(day)]
    lies_by = device.use is Use.STOPPED and device.stopped_on is not None and device.stopped_on <= day
    return Assembly(
        device=device.id,
        **device.model_dump(include={"purpose", "side", "use", "stopped_on"}),
        lies_by=lies_by,
        parts=list(parts),
    )


def _worn_part(row: sa.RowMapping) -> WornPart:
    which: dict[str, Any] = {"place": None, "socket": None, "socket" if row["is_socket"] else "place": row["stay"]}
    return WornPart.model_validate({**row, **which})


def _of_lot(work: Work, lot_id: int) -> sa.Select[Any]:
    own = sa.true() if Role.SYSTEM in work.actor.roles else LotRow.site_id.in_(work.actor.sites)
    if work.session.scalar(sa.select(LotRow.id).where(LotRow.id == lot_id, own)) is None:
        raise NotFound("There is no lot with this number among those of your sites.")
    return tracing.of_lot(lot_id)


def _of_version(work: Work, version_id: int) -> sa.Select[Any]:
    may_be_seen = sa.or_(VersionRow.shape_id.is_(None), visible(work.actor, work.today))
    known = (
        sa.select(VersionRow.id)
        .outerjoin(ShapeRow, ShapeRow.id == VersionRow.shape_id)
        .outerjoin(RecipientRow, RecipientRow.id == ShapeRow.recipient_id)
        .where(VersionRow.id == version_id, may_be_seen)
    )
    if work.session.scalar(known) is None:
        raise NotFound("There is no part version with this number among those you may see.")
    return tracing.of_version(version_id)
