"""Stays of parts in devices, read with everything the parts are made of; what is seen is for the caller to narrow."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.answers import Flag, LotUsed, PlacedPart, VersionUsed, version_words
from service.assembly.rules import attention
from service.assembly.tables import PartLotRow, PartRow, PlaceRow, SocketPartRow
from service.devices.queries import STANDING as STANDING_SOCKET
from service.devices.rules import EndReason
from service.devices.tables import DeviceRow, SocketRow
from service.kit.days import full_day
from service.lots.queries import lot_facts
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
    if not ids:
        return {}
    known = {row["id"]: row for row in _version_rows(work, ids)}
    after = {row["successor_id"] for row in known.values()} - {None, *known}
    successors = known | {row["id"]: row for row in _version_rows(work, after)}
    return {
        each: VersionUsed(
            **{name: row[name] for name in ("id", "number", "interface", "state")},
            design=row["design_id"],
            name=_name(row),
            successor=row["successor_id"],
            successor_words=_words(successors.get(row["successor_id"])),
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
        version.state if version else None,
        version.successor_words if version else None,
        [(lot.words, lot.state) for lot in lots],
    )
    unknown: dict[str, Any] = _UNKNOWN if row["part"] is None else {}
    return PlacedPart.model_validate(
        {
            **row,
            **unknown,
            "version": version,
            "lots": lots,
            "attention": [Flag(word=word, sentence=sentence) for word, sentence in flags],
        }
    )


def _lots(work: Work, parts: Collection[int]) -> defaultdict[int | None, list[LotUsed]]:
    found: defaultdict[int | None, list[LotUsed]] = defaultdict(list)
    made_from = sa.select(PartLotRow.part_id, PartLotRow.lot_id).where(PartLotRow.part_id.in_(parts))
    pairs = work.session.execute(made_from.order_by(PartLotRow.lot_id)).all() if parts else []
    facts = lot_facts(work, {pair.lot_id for pair in pairs})
    for pair in pairs:
        found[pair.part_id].append(LotUsed.model_validate(facts[pair.lot_id].model_dump()))
    return found


def _version_rows(work: Work, ids: Collection[int]) -> list[sa.RowMapping]:
    columns = ("id", "design_id", "shape_id", "number", "interface", "state", "successor_id")
    return list(
        work.session.execute(
            sa.select(
                *(getattr(VersionRow, name) for name in columns), DesignRow.name, ShapeRow.method, ShapeRow.taken_on
            )
            .outerjoin(DesignRow, DesignRow.id == VersionRow.design_id)
            .outerjoin(ShapeRow, ShapeRow.id == VersionRow.shape_id)
            .where(VersionRow.id.in_(ids))
        ).mappings()
    )


def _name(row: sa.RowMapping) -> str:
    """What a version's design is called; a socket's has no name, so it is called by the shape it was made from."""
    if row["name"] is not None:
        return str(row["name"])
    return f"Socket from the {row['method']} of {full_day(row['taken_on'])}"


def _words(row: sa.RowMapping | None) -> str | None:
    return version_words(_name(row), row["number"]) if row is not None else None
