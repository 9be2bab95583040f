"""What may replace a part, read from the versions of its kind and the lots of its site, and judged by the rules."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.answers import (
    LotUsed,
    PartInPlace,
    ReasonView,
    Replacement,
    Replacements,
    VersionUsed,
)
from service.assembly.rules import Judged, Member, Offered, Scaled, Vacancy, judged
from service.assembly.stays import versions_used
from service.lots.rules import LotKind, LotState
from service.lots.tables import LotRow
from service.parts.tables import DesignRow, VersionRow
from service.recipients.rules import Side

MOST_LOTS = 12
"""Lots that are named for one material."""


def as_member(part: Any, interface: str) -> Member:
    """A part as its neighbours see it; `part` is a row or a view of one."""
    scales = None
    if part.scale_across is not None and part.scale_along is not None:
        scales = Scaled(part.scale_across, part.scale_along)
    return Member(part.kind, part.digit, interface, scales)


def member(part: PartInPlace) -> Member:
    """A part in place as its neighbours see it."""
    return as_member(part, part.version.interface if part.version else "")


def vacancy(there: PartInPlace, side: Side, others: Iterable[PartInPlace]) -> Vacancy:
    """The place that a part fills in a device of a side, beside others."""
    return Vacancy(member(there), side, tuple(member(each) for each in others), there.material, there.colour)


def replacements_for(
    work: Work, site_id: int, there: PartInPlace, place: Vacancy, scales: Scaled | None
) -> Replacements:
    """Every version of the kind of a part in place, those that fit first, the newest of a design before the older."""
    offered = _offered(work, there)
    verdicts = [judged(place, each, scales) for _number, each in offered]
    lots = lots_in_use(work, site_id)
    items = [_replacement(number, verdict, lots) for (number, _each), verdict in zip(offered, verdicts, strict=True)]
    same = [lot for lot in lots if lot.what.casefold() == there.what.casefold()] if there.version is None else []
    return Replacements(
        part=there,
        items=sorted(items, key=lambda each: not each.fits),
        lots=same[:MOST_LOTS],
    )


def _replacement(number: int, verdict: Judged, lots: Iterable[LotUsed]) -> Replacement:
    wanted = verdict.material.casefold()
    usable = [lot for lot in lots if lot.kind is LotKind.FILAMENT and wanted and lot.material.casefold() == wanted]
    # The colour that is worn now comes first.
    usable.sort(key=lambda lot: lot.colour.casefold() != verdict.colour.casefold())
    fits, scales = not verdict.reasons, verdict.scales
    return Replacement(
        version=verdict.offered.version,
        name=verdict.offered.name,
        number=number,
        interface=verdict.offered.interface,
        state=verdict.offered.state,
        fits=fits,
        scale_across=scales.across if scales else None,
        scale_along=scales.along if scales else None,
        material=verdict.material,
        colour=verdict.colour,
        reasons=[ReasonView(why=each.why, sentence=each.sentence) for each in verdict.reasons],
        lots=usable[:MOST_LOTS] if fits else [],
    )


def _offered(work: Work, there: PartInPlace) -> list[tuple[int, Offered]]:
    """Every version of the kind of a part, of any design: with its number."""
    if there.version is None:
        return []
    rows = work.session.execute(
        sa.select(VersionRow.id, VersionRow.materials, DesignRow.kind, DesignRow.digit, DesignRow.side)
        .join(DesignRow, DesignRow.id == VersionRow.design_id)
        .where(DesignRow.kind == there.kind)
        .order_by(DesignRow.search_name, VersionRow.number.desc())
    ).all()
    used = versions_used(work, [row.id for row in rows])
    return [(used[row.id].number, _as_offered(row, used[row.id])) for row in rows]


def _as_offered(row: Any, version: VersionUsed) -> Offered:
    return Offered(
        version=version.id,
        name=version.name,
        kind=row.kind,
        digit=row.digit,
        side=row.side,
        interface=version.interface,
        materials=tuple(row.materials),
        state=version.state,
        successor=version.successor_name,
    )


def lots_in_use(work: Work, site_id: int) -> list[LotUsed]:
    """The lots of a site that something may be made from, the newest first."""
    in_use = sa.select(LotRow).where(LotRow.site_id == site_id, LotRow.state == LotState.IN_USE)
    rows = work.session.scalars(in_use.order_by(LotRow.id.desc()))
    return [LotUsed.model_validate(row, from_attributes=True) for row in rows]
