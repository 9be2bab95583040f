"""From a lot or a version to every limb that wears it: one statement, whatever was moved where in between."""

from __future__ import annotations

from collections.abc import Callable
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


def worn_by(
    parts: sa.Select[Any], on: date | None, *, today: date, seen: sa.ColumnElement[bool], page: Callable[..., Any]
) -> sa.Select[Any]:
    """SQL: a page of the stays of some parts on a day that is told as it ended, or ever, and how many limbs there are.

    One row at least: `limbs` and `elsewhere` count those of cases that are `seen` and of all others; the rest is the
    page, of cases that are seen. `page` orders and cuts a selection of (recipient, is_socket, stay). On a day, a device
    that was stopped by then counts not: its parts lie in a drawer.
    """
    stays = _stays(parts, on, today).subquery("stays")
    found = (
        sa.select(
            RecipientRow.id.label("recipient"),
            sa.case((seen, 1), else_=0).label("seen"),
            DeviceRow.side,
            *(stays.c.device, stays.c.part, stays.c.is_socket, stays.c.stay, stays.c.since, stays.c.until),
        )
        .select_from(stays)
        .join(DeviceRow, DeviceRow.id == stays.c.device)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(_in_use(on))
        .cte("found")
    )
    each = sa.select(found.c.recipient, found.c.side, found.c.seen).distinct().subquery("limb")
    total = sa.func.coalesce(sa.func.sum(each.c.seen), 0)
    counts = sa.select(total.label("limbs"), (sa.func.count() - total).label("elsewhere")).select_from(each).subquery()
    keys = (found.c.recipient, found.c.is_socket, found.c.stay)
    shown = page(sa.select(found).where(found.c.seen == 1), keys).subquery("shown")
    part = ("kind", "what", "digit", "scale_across", "scale_along", "material", "colour", "serial")
    return (
        sa.select(
            *(counts.c.limbs, counts.c.elsewhere),
            *(shown.c.recipient, shown.c.device, shown.c.part, shown.c.is_socket, shown.c.stay),
            *(shown.c.since, shown.c.until),
            *(RecipientRow.case_number, RecipientRow.given_name, RecipientRow.family_name),
            *(DeviceRow.side, DeviceRow.purpose, DeviceRow.use),
            *(getattr(PartRow, name) for name in part),
            PartRow.version_id.label("version"),
        )
        .select_from(counts)
        .outerjoin(shown, sa.true())
        .outerjoin(RecipientRow, RecipientRow.id == shown.c.recipient)
        .outerjoin(DeviceRow, DeviceRow.id == shown.c.device)
        .outerjoin(PartRow, PartRow.id == shown.c.part)
        .order_by(shown.c.recipient, shown.c.is_socket, shown.c.stay)
    )


def _stays(parts: sa.Select[Any], on: date | None, today: date) -> sa.CompoundSelect[Any]:
    """SQL: the stays of some parts, as places and as sockets."""
    chosen = parts.subquery("chosen")
    places = (
        sa.select(
            chosen.c.part,
            PlaceRow.id.label("stay"),
            sa.literal(0).label("is_socket"),
            PlaceRow.device_id.label("device"),
            *(PlaceRow.since, PlaceRow.until),
        )
        .join(PlaceRow, PlaceRow.part_id == chosen.c.part)
        .where(STANDING, *_covers(PlaceRow.since, PlaceRow.until, on, today))
    )
    sockets = (
        sa.select(
            chosen.c.part,
            SocketRow.id,
            sa.literal(1),
            SocketRow.device_id,
            *(SocketRow.fitted_on, SocketRow.ended_on),
        )
        .join(SocketPartRow, SocketPartRow.part_id == chosen.c.part)
        .join(SocketRow, SocketRow.id == SocketPartRow.socket_id)
        .where(STANDING_SOCKET, *_covers(SocketRow.fitted_on, SocketRow.ended_on, on, today))
    )
    return sa.union_all(places, sockets)


def _in_use(on: date | None) -> sa.ColumnElement[bool]:
    """SQL: a device that did not lie in a drawer on a day; any, when asked about ever."""
    if on is None:
        return sa.true()
    return sa.or_(DeviceRow.use != Use.STOPPED, DeviceRow.stopped_on > on)


def _covers(since: Any, until: Any, on: date | None, today: date) -> list[sa.ColumnElement[bool]]:
    """The conditions of a stay that covers a day, as `rules.Stay.covers` says it."""
    if on is None:
        return []
    # No day to come is ever recorded, so what covers today has no end; and of what has none there is an index.
    return [until.is_(None)] if on == today else [since <= on, sa.or_(until.is_(None), until > on)]
