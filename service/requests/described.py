"""The parts that requests name, with the version that is to be made of each as it stands today."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any, NamedTuple

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.answers import VersionUsed
from service.assembly.rules import part_called
from service.assembly.stays import versions_used
from service.assembly.tables import PartRow, PlaceRow
from service.parts.rules import VersionState
from service.parts.tables import VersionRow
from service.requests.schemas import OpenPart, RequestPartView
from service.requests.tables import RequestPartRow

MOST_STEPS = 20
"""Successors are followed so far; nobody withdraws that many in a row."""


class Made(NamedTuple):
    """What is to be made: the version as it stands, and the one that was named when it was asked."""

    now: VersionUsed
    named: VersionUsed


def described(work: Work, parts: Iterable[RequestPartRow]) -> list[RequestPartView]:
    """Parts as a page shows them."""
    rows = list(parts)
    made = _made(work, rows)
    worn = _worn(work, rows)
    return [_view(row, made.get(row.version_id or 0), worn.get(row.place_id)) for row in rows]


def open_parts(work: Work, parts: Mapping[int, list[RequestPartRow]]) -> dict[int, list[OpenPart]]:
    """Parts as matching needs them, by request; a request that names none is left out."""
    rows = [row for each in parts.values() for row in each]
    made = _made(work, rows)
    files = _files(work, {each.now.id for each in made.values()})
    found: dict[int, list[OpenPart]] = {request: [] for request in parts}
    for row in rows:
        version = made.get(row.version_id or 0)
        found[row.request_id].append(_open(row, version, files.get(version.now.id) if version else None))
    return found


def _made(work: Work, rows: Iterable[RequestPartRow]) -> dict[int, Made]:
    return as_they_stand(work, {row.version_id for row in rows if row.version_id is not None})


def as_they_stand(work: Work, named: Collection[int]) -> dict[int, Made]:
    """What is to be made instead of each version that is named; a withdrawn one's successor, if it has any."""
    known = versions_used(work, named)
    now = dict(known)
    for _step in range(MOST_STEPS):
        behind = {each.successor for each in now.values() if _is_replaced(each)} - {None}
        if not behind:
            break
        later = versions_used(work, [each for each in behind if each is not None])
        now = {name: later.get(each.successor or 0, each) if _is_replaced(each) else each for name, each in now.items()}
    return {name: Made(now[name], known[name]) for name in known}


def _is_replaced(version: VersionUsed) -> bool:
    return version.state is VersionState.WITHDRAWN and version.successor is not None


def _worn(work: Work, rows: Iterable[RequestPartRow]) -> dict[int | None, VersionUsed]:
    """The version of the part in each place that is named."""
    places = {row.place_id for row in rows} - {None}
    if not places:
        return {}
    rows_of = work.session.execute(
        sa.select(PlaceRow.id, PartRow.version_id)
        .join(PartRow, PartRow.id == PlaceRow.part_id)
        .where(PlaceRow.id.in_(places), PartRow.version_id.is_not(None))
    )
    of_place = {row.id: row.version_id for row in rows_of}
    used = versions_used(work, [each for each in of_place.values() if each is not None])
    return {place: used[version] for place, version in of_place.items() if version is not None}


def _view(row: RequestPartRow, made: Made | None, worn: VersionUsed | None) -> RequestPartView:
    return RequestPartView(
        id=row.id,
        place=row.place_id,
        kind=row.kind,
        what=row.what,
        digit=row.digit,
        side=row.side,
        happened=row.happened,
        version=made.now.id if made else None,
        version_name=made.now.name if made else None,
        interface=made.now.interface if made else "",
        scale_across=row.scale_across,
        scale_along=row.scale_along,
        material=row.material,
        colour=row.colour,
        quantity=row.quantity,
        called=part_called(row.kind, row.digit),
        proposal=proposal(made, worn, bought=not row.kind.is_printed),
    )


def proposal(made: Made | None, worn: VersionUsed | None, *, bought: bool) -> str:
    """What is to be made, and why that, in sentences."""
    if made is None:
        if bought:
            return "This is bought: look among the lots."
        return "No version that may be printed is known to fit: choose one, or ask whoever designs parts."
    if made.now.state is VersionState.WITHDRAWN:
        return f"{made.now.name} was withdrawn, and no version takes its place yet."
    if worn is None or worn.id == made.now.id:
        return f"Make {made.now.name}{', as worn' if worn else ''}."
    if worn.state is VersionState.WITHDRAWN:
        return f"{worn.name}, which is worn, was withdrawn: make {made.now.name} instead."
    return f"Make {made.now.name}: it fits, and is newer than {worn.name}, which is worn."


def _files(work: Work, versions: Iterable[int]) -> dict[int, Any]:
    columns = (VersionRow.id, VersionRow.materials, VersionRow.print_settings, VersionRow.geometry)
    rows = work.session.execute(sa.select(*columns).where(VersionRow.id.in_(list(versions))))
    return {row.id: row for row in rows}


def _open(row: RequestPartRow, made: Made | None, file: Any) -> OpenPart:
    return OpenPart(
        id=row.id,
        kind=row.kind,
        what=row.what,
        digit=row.digit,
        side=row.side,
        happened=row.happened,
        quantity=row.quantity,
        version=made.now.id if made else None,
        version_name=made.now.name if made else None,
        scale_across=row.scale_across,
        scale_along=row.scale_along,
        box_mm=tuple(file.geometry["bounding_box_mm"]) if file else None,
        volume_mm3=file.geometry["volume_mm3"] if file else None,
        material=row.material,
        materials=list(file.materials) if file else [],
        nozzle_mm=file.print_settings.get("nozzle_mm") if file else None,
        colour=row.colour,
    )
