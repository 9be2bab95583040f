"""From a lot or a version to every limb that wears it: one statement, whatever was moved where in between."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from service.assembly.stays import STANDING
from service.assembly.tables import PartLotRow, PartRow, PlaceRow, SocketPartRow
from service.devices.queries import STANDING as STANDING_SOCKET
from service.devices.rules import Use
from service.devices.tables import DeviceRow, SocketRow
from service.recipients.tables import RecipientRow


def of_lot(lot_id: int) -> sa.Select[Any]:
    """SQL: the parts made from a lot."""
    return sa.select(PartLotRow.part_id.label("part")).where(PartLotRow.lot_id == lot_id)


def of_version(version_id: int) -> sa.Select[Any]:
    """SQL: the parts printed from a version."""
    return sa.select(PartRow.id.label("part")).where(PartRow.version_id == version_id)


def worn_parts(parts: sa.Select[Any], on: date | None) -> sa.Subquery:
    """SQL: the stays of some parts on a day that is told as it ended, or ever: (part, stay, is_socket, device, …).

    On a day, a device that was stopped by then counts not: its parts lie in a drawer.
    """
    chosen = parts.subquery("chosen")
    places = (
        sa.select(
            chosen.c.part,
            PlaceRow.id.label("stay"),
            sa.literal(0).label("is_socket"),
            PlaceRow.device_id.label("device"),
            PlaceRow.since,
            PlaceRow.until,
        )
        .join(PlaceRow, PlaceRow.part_id == chosen.c.part)
        .where(STANDING, *_covers(PlaceRow.since, PlaceRow.until, on))
    )
    sockets = (
        sa.select(
            chosen.c.part,
            SocketRow.id,
            sa.literal(1),
            SocketRow.device_id,
            SocketRow.fitted_on,
            SocketRow.ended_on,
        )
        .join(SocketPartRow, SocketPartRow.part_id == chosen.c.part)
        .join(SocketRow, SocketRow.id == SocketPartRow.socket_id)
        .where(STANDING_SOCKET, *_covers(SocketRow.fitted_on, SocketRow.ended_on, on))
    )
    return sa.union_all(places, sockets).subquery("stays")


def in_use(on: date | None) -> sa.ColumnElement[bool]:
    """SQL: a device that did not lie in a drawer on a day; any, when asked about ever."""
    if on is None:
        return sa.true()
    return sa.or_(DeviceRow.use != Use.STOPPED, DeviceRow.stopped_on > on)


def limbs(stays: sa.Subquery, on: date | None, seen: sa.ColumnElement[bool]) -> sa.Select[Any]:
    """SQL: how many limbs wear some of the parts, of the cases that are seen and of all others: (seen, limbs)."""
    each = (
        sa.select(RecipientRow.id, DeviceRow.side, sa.case((seen, 1), else_=0).label("seen"))
        .select_from(stays)
        .join(DeviceRow, DeviceRow.id == stays.c.device)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(in_use(on))
        .distinct()
        .subquery("limbs")
    )
    return sa.select(each.c.seen, sa.func.count().label("limbs")).group_by(each.c.seen)


def wearers(stays: sa.Subquery, on: date | None, seen: sa.ColumnElement[bool]) -> sa.Select[Any]:
    """SQL: the parts, each with the case and the device it is in, of the cases that are seen."""
    part = ("kind", "what", "digit", "scale_across", "scale_along", "material", "colour", "serial")
    return (
        sa.select(
            *(RecipientRow.case_number, RecipientRow.given_name, RecipientRow.family_name),
            RecipientRow.id.label("recipient"),
            *(DeviceRow.id.label("device"), DeviceRow.side, DeviceRow.purpose, DeviceRow.use),
            *(getattr(PartRow, name) for name in part),
            *(PartRow.id.label("part"), PartRow.version_id.label("version")),
            *(stays.c.stay, stays.c.is_socket, stays.c.since, stays.c.until),
        )
        .select_from(stays)
        .join(DeviceRow, DeviceRow.id == stays.c.device)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .join(PartRow, PartRow.id == stays.c.part)
        .where(in_use(on), seen)
    )


def _covers(since: Any, until: Any, on: date | None) -> list[sa.ColumnElement[bool]]:
    """The conditions of a stay that covers a day, as `rules.Stay.covers` says it."""
    return [] if on is None else [since <= on, sa.or_(until.is_(None), until > on)]
