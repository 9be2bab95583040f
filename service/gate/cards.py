"""The card of a build, for the bench: what to print and how, what to drill, what will be checked. Part of another act.

A card lies about in a workshop, so nothing on it says whom it is for. It takes no words that somebody typed about the
case, no file's name (files are called after children), no remarks, and of a check what to do but not why it is asked:
an allergy or an age would be told by that.
"""

from __future__ import annotations

from collections.abc import Iterator

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.answers import VersionUsed
from service.assembly.rules import Scaled, part_called
from service.assembly.stays import versions_used
from service.builds.keeping import items_of, used_lots
from service.builds.tables import BuildItemRow, BuildRow
from service.gate.blocks import BlockCode, ItemFacts, out_of_order
from service.gate.checklists import CheckKind
from service.gate.gathering import facts_of
from service.gate.rows import asked_of
from service.gate.schemas import CardItem, CardView, ToCheck
from service.geometry.answers import Geometry
from service.geometry.printing import Solid
from service.notices.rows import open_on
from service.notices.rules import NoticeKind
from service.parts.at_scale import features_at, wall_at
from service.parts.rules import USUAL_DENSITY, density_of
from service.parts.schemas import FixedFeature, PrintSettings
from service.parts.tables import VersionRow


def card_of(work: Work, row: BuildRow) -> CardView:
    """The card of a build the actor may see."""
    rows = items_of(work, row.id)
    wanted = {each.version_id for each in rows if each.version_id is not None}
    files = {each.id: each for each in work.session.scalars(sa.select(VersionRow).where(VersionRow.id.in_(wanted)))}
    used = versions_used(work, wanted)
    facts = facts_of(work, row)
    items = [
        _item(each, row, files.get(each.version_id or 0), used.get(each.version_id or 0), known)
        for each, known in zip(rows, facts.items, strict=True)
    ]
    return CardView(
        build=row.id,
        round=row.round,
        state=row.state,
        deadline=row.deadline,
        items=items,
        warnings=list(dict.fromkeys([*_notices(work, row, wanted), *_stopped(facts.items)])),
        checks=[
            ToCheck(label=each.label, asks=each.asks, limit=each.limit.words if each.limit else "")
            for each in asked_of(work, row, CheckKind.BENCH)
        ],
    )


def _item(
    row: BuildItemRow, build: BuildRow, file: VersionRow | None, used: VersionUsed | None, known: ItemFacts
) -> CardItem:
    across = row.scale_across or 1.0
    scales = Scaled(across, row.scale_along or across)
    item = CardItem(
        called=part_called(row.kind, row.digit),
        what=row.what,
        side=row.side or build.side,
        material=row.material or (" or ".join(file.materials) if file else ""),
        colour=row.colour,
        quantity=row.quantity,
        spare=row.spare,
    )
    if file is None or used is None:
        return item
    settings = PrintSettings.model_validate(file.print_settings)
    geometry = Geometry.model_validate(file.geometry)
    thinnest = geometry.thinnest_wall_mm
    wall = wall_at(None if thinnest is None else thinnest * min(scales.across, scales.along), settings.nozzle_mm)
    features = features_at([FixedFeature.model_validate(each) for each in file.features], scales.across, scales.along)
    grams, hours = _estimate(geometry, settings, scales, item.material)
    return item.model_copy(
        update={
            "version": file.id,
            "version_name": used.name,
            "fingerprint": file.file_sha256[:12],
            "scale_across": scales.across,
            "scale_along": scales.along,
            "size_mm": _size(geometry, file, scales),
            "settings": settings,
            "grams": grams,
            "hours": hours,
            "features": tuple(features),
            "thin_wall": wall.sentence if wall.whole is False else "",
            "may_be_small": known.small,
        }
    )


def _size(geometry: Geometry, file: VersionRow, scales: Scaled) -> tuple[float, float, float] | None:
    """The box it fills in the slicer, mm; None where its axis lies slantwise, so that two scales shear no box."""
    direction = [abs(each) for each in file.axis.get("direction", (0, 0, 1))]
    main = direction.index(max(direction))
    slanted = sum(direction) - direction[main] > 1e-6 * direction[main]
    if slanted and abs(scales.across - scales.along) > 1e-9:
        return None
    x, y, z = (
        edge * (scales.along if at == main else scales.across) for at, edge in enumerate(geometry.bounding_box_mm)
    )
    return x, y, z


def _estimate(
    geometry: Geometry, settings: PrintSettings, scales: Scaled, material: str
) -> tuple[float | None, float | None]:
    """Grams and hours of one piece; none while its surface is not closed."""
    if geometry.volume_mm3 is None:
        return None, None
    solid = Solid(geometry.volume_mm3, geometry.area_mm2, geometry.bounding_box_mm)
    printed = solid.scaled(scales.across, scales.along).printed(settings.walls * settings.nozzle_mm, settings.infill)
    return printed.mass_g(density_of(material) or USUAL_DENSITY), printed.hours()


def _stopped(items: tuple[ItemFacts, ...]) -> Iterator[str]:
    """Versions and lots that nothing may be made from."""
    for item in items:
        yield from (why for code, why in out_of_order(item) if code in {BlockCode.VERSION, BlockCode.LOT})


def _notices(work: Work, row: BuildRow, versions: set[int]) -> Iterator[str]:
    """Open safety notices; of a printer without its name, which says whose it is."""
    for notice, what in open_on(work, versions, row.id, used_lots(row)):
        about = "the printer that something of this came off" if notice.kind is NoticeKind.PRINTER else what
        yield f"Safety notice {notice.id} is open on {about}. Make nothing of it before you have read it."
