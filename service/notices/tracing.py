"""From a notice to what it is about, as SQL: parts by version, by lot, or by the printer they came off."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.assembly.stays import STANDING
from service.assembly.tables import PartLotRow, PartRow, PlaceRow, SocketPartRow
from service.builds.keeping import in_the_build
from service.builds.rules import UNDER_WAY
from service.builds.tables import BuildItemRow, BuildPartRow, BuildRow, PrintRow, UseRow
from service.devices.queries import STANDING as STANDING_SOCKET
from service.devices.rules import Use
from service.devices.tables import DeviceRow, SocketRow
from service.notices.rules import NoticeKind
from service.notices.tables import NoticeRow
from service.recipients.tables import RecipientRow


def parts_of(notice: NoticeRow) -> sa.Select[Any]:
    """SQL: the ids of the parts that a notice is about, on whichever limb or in whichever drawer."""
    if notice.kind is NoticeKind.VERSION:
        return sa.select(PartRow.id.label("part")).where(PartRow.version_id == notice.version_id)
    if notice.kind is NoticeKind.LOT:
        return sa.select(PartLotRow.part_id.label("part")).where(PartLotRow.lot_id == notice.lot_id)
    return (
        sa.select(BuildPartRow.part_id.label("part"))
        .join(PrintRow, PrintRow.item_id == BuildPartRow.item_id)
        .where(in_the_build(), *printed_between(notice))
        .distinct()
    )


def printed_between(notice: NoticeRow) -> list[sa.ColumnElement[bool]]:
    """SQL: conditions on a print that came off the notice's printer on one of its days."""
    found: list[sa.ColumnElement[bool]] = [PrintRow.printer_id == notice.printer_id]
    if notice.from_on is not None:
        found.append(PrintRow.printed_on >= notice.from_on)
    if notice.until_on is not None:
        found.append(PrintRow.printed_on <= notice.until_on)
    return found


def held_now(notice: NoticeRow) -> sa.Select[Any]:
    """SQL: every affected part that is in a device now, places and sockets; not in devices that were stopped."""
    about = parts_of(notice).subquery("about")
    columns = (
        *(RecipientRow.id.label("recipient_id"), RecipientRow.case_number, RecipientRow.given_name),
        *(RecipientRow.site_id, DeviceRow.id.label("device"), DeviceRow.side, DeviceRow.purpose, DeviceRow.use),
        *(PartRow.id.label("part"), PartRow.kind, PartRow.digit, PartRow.version_id.label("version")),
    )
    places = (
        sa.select(*columns, PlaceRow.id.label("place"), sa.null().label("socket"), PlaceRow.since)
        .join(PlaceRow, PlaceRow.part_id == PartRow.id)
        .join(DeviceRow, DeviceRow.id == PlaceRow.device_id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(PartRow.id.in_(sa.select(about.c.part)), STANDING, PlaceRow.until.is_(None))
        .where(DeviceRow.use != Use.STOPPED)
    )
    sockets = (
        sa.select(*columns, sa.null().label("place"), SocketRow.id.label("socket"), SocketRow.fitted_on.label("since"))
        .select_from(PartRow)
        .join(SocketPartRow, SocketPartRow.part_id == PartRow.id)
        .join(SocketRow, SocketRow.id == SocketPartRow.socket_id)
        .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
        .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
        .where(PartRow.id.in_(sa.select(about.c.part)), STANDING_SOCKET, SocketRow.ended_on.is_(None))
        .where(DeviceRow.use != Use.STOPPED)
    )
    both = sa.union_all(places, sockets).subquery("held")
    return sa.select(both).order_by(both.c.case_number, both.c.device, both.c.part)


def builds_of(notice: NoticeRow) -> sa.Select[Any]:
    """SQL: the builds under way that hold, or would hold, what a notice is about."""
    found = sa.select(BuildRow).where(BuildRow.state.in_(UNDER_WAY))
    if notice.kind is NoticeKind.VERSION:
        about = sa.select(BuildItemRow.build_id).where(BuildItemRow.version_id == notice.version_id)
    elif notice.kind is NoticeKind.LOT:
        about = sa.select(UseRow.build_id).where(UseRow.lot_id == notice.lot_id)
    else:
        about = sa.select(PrintRow.build_id).where(in_the_build(), *printed_between(notice))
    return found.where(BuildRow.id.in_(about)).order_by(BuildRow.id)
