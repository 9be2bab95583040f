"""Stays of parts in devices, read with everything the parts are made of; what is seen is for the caller to narrow."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.answers import Flag, LotUsed, PlacedPart, VersionUsed
from service.assembly.rules import attention
from service.assembly.tables import PartLotRow, PartRow, PlaceRow, SocketPartRow
from service.devices.queries import STANDING as STANDING_SOCKET
from service.devices.rules import EndReason
from service.devices.tables import DeviceRow, SocketRow
from service.lots.tables import LotRow
from service.parts.rows import name
from service.parts.rules import PartKind
from service.parts.tables import DesignRow, ShapeRow, VersionRow
from service.recipients.tables import RecipientRow

STANDING = PlaceRow.came_off.is_distinct_from(EndReason.MISTAKE)
"""SQL: a stay that was not struck through, so one that is or was."""

_PART = (
    *(PartRow.id.label("part"), PartRow.kind, PartRow.what, PartRow.digit, PartRow.side, PartRow.version_id),
    *(PartRow.scale_across, PartRow.scale_along, PartRow.material, PartRow.colour, PartRow.serial),
    PartRow.note.label("about"),
)
_WHERE = (RecipientRow.case_number, DeviceRow.id.label("device"), DeviceRow.purpose)


def placed(work: Work, *conditions: sa.ColumnElement[bool], struck: bool = False) -> list[PlacedPart]:
    """The stays of parts and sockets under some conditions on devices or recipients, the oldest first."""
    places, sockets = _PLACES.where(*conditions), _SOCKETS.where(*conditions)
    if not struck:
        places, sockets = places.where(STANDING), sockets.where(STANDING_SOCKET)
    rows = [*work.session.execute(places).mappings(), *work.session.execute(sockets).mappings()]
    return sorted(_views(work, rows), key=lambda each: (each.since, each.place or 0))


def stays_at(work: Work, *conditions: sa.ColumnElement[bool]) -> list[PlacedPart]:
    """The stays under some conditions on places or parts, struck ones too, the oldest first; no sockets."""
    rows = work.session.execute(_PLACES.where(*conditions)).mappings().all()
    return sorted(_views(work, rows), key=lambda each: (each.since, each.place or 0))


def versions_used(work: Work, ids: Collection[int]) -> dict[int, VersionUsed]:
    """Versions by id, each with what takes its place if it was withdrawn."""
    known = _version_rows(work, ids)
    successors = known | _version_rows(work, {row["successor_id"] for row in known.values()} - {None, *known})
    return {
        each: VersionUsed(
            **{part: row[part] for part in ("id", "number", "interface", "state")},
            name=name(row),
            successor=row["successor_id"],
            successor_name=name(successors[row["successor_id"]]) if row["successor_id"] else None,
            withdrawn_on=row["withdrawn_at"].date() if row["withdrawn_at"] else None,
        )
        for each, row in known.items()
    }


_PLACES = (
    sa.select(
        *_PART,
        *_WHERE,
        PlaceRow.id.label("place"),
        sa.null().label("socket"),
        *(PlaceRow.since, PlaceRow.until, PlaceRow.came_off, PlaceRow.note, PlaceRow.end_note),
        *(PlaceRow.ended_by, PlaceRow.doubts),
    )
    .join(PlaceRow, PlaceRow.part_id == PartRow.id)
    .join(DeviceRow, DeviceRow.id == PlaceRow.device_id)
    .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
)

# A socket in place from elsewhere is no part that the register knows, and is in its place all the same.
_SOCKETS = (
    sa.select(
        *_PART,
        *_WHERE,
        sa.null().label("place"),
        SocketRow.id.label("socket"),
        *(
            SocketRow.fitted_on.label("since"),
            SocketRow.ended_on.label("until"),
            SocketRow.end_reason.label("came_off"),
        ),
        *(SocketRow.note, SocketRow.end_note, SocketRow.ended_by, SocketPartRow.doubts),
    )
    .select_from(SocketRow)
    .join(DeviceRow, DeviceRow.id == SocketRow.device_id)
    .join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
    .outerjoin(SocketPartRow, SocketPartRow.socket_id == SocketRow.id)
    .outerjoin(PartRow, PartRow.id == SocketPartRow.part_id)
)

_UNKNOWN = {"kind": PartKind.SOCKET, "what": "", "material": "", "colour": "", "serial": "", "about": "", "doubts": []}


def _views(work: Work, rows: Iterable[sa.RowMapping]) -> list[PlacedPart]:
    found = list(rows)
    lots = _lots(work, {row["part"] for row in found if row["part"] is not None})
    versions = versions_used(work, {row["version_id"] for row in found if row["version_id"] is not None})
    return [_view(row, versions.get(row["version_id"]), lots[row["part"]]) for row in found]


def _view(row: sa.RowMapping, version: VersionUsed | None, lots: list[LotUsed]) -> PlacedPart:
    flags = attention(
        version.withdrawn_on if version else None,
        version.successor_name if version else None,
        [(lot.words, lot.state, lot.state_since) for lot in lots],
    )
    unknown: dict[str, Any] = _UNKNOWN if row["part"] is None else {}
    found = [Flag(word=word, sentence=sentence) for word, sentence in flags]
    return PlacedPart.model_validate({**row, **unknown, "version": version, "lots": lots, "attention": found})


def _lots(work: Work, parts: Collection[int]) -> defaultdict[int | None, list[LotUsed]]:
    found: defaultdict[int | None, list[LotUsed]] = defaultdict(list)
    made_from = sa.select(PartLotRow.part_id, LotRow.__table__).join(LotRow, LotRow.id == PartLotRow.lot_id)
    rows = work.session.execute(made_from.where(PartLotRow.part_id.in_(parts)).order_by(LotRow.id)) if parts else ()
    for row in rows:
        found[row.part_id].append(LotUsed.model_validate(row._mapping))
    return found


def _version_rows(work: Work, ids: Collection[int]) -> dict[int, sa.RowMapping]:
    if not ids:
        return {}
    columns = ("id", "design_id", "number", "interface", "state", "withdrawn_at", "successor_id")
    named = (DesignRow.name.label("design_name"), ShapeRow.side.label("shape_side"), ShapeRow.taken_on)
    rows = work.session.execute(
        sa.select(*(getattr(VersionRow, each) for each in columns), *named)
        .outerjoin(DesignRow, DesignRow.id == VersionRow.design_id)
        .outerjoin(ShapeRow, ShapeRow.id == VersionRow.shape_id)
        .where(VersionRow.id.in_(ids))
    )
    return {row["id"]: row for row in rows.mappings()}
