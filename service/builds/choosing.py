"""What is to be made for a request: named by it, as versions stand today, or chosen by somebody."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.rules import digit_problem, side_problem, state_problem
from service.assembly.stays import versions_used
from service.assembly.tables import PartRow, PlaceRow
from service.builds.schemas import ChooseItem
from service.builds.tables import BuildItemRow, BuildRow
from service.devices.tables import DeviceRow
from service.kit.errors import Invalid
from service.parts.rules import Digit, PartKind
from service.parts.tables import DesignRow, ShapeRow, VersionRow
from service.recipients.rules import Side
from service.requests.described import open_parts
from service.requests.rules import WhatHappened
from service.requests.tables import RequestPartRow

_NO_VERSION = "There is no such version here. Look it up among the part designs, or among the shapes of this person."


def asked_for(work: Work, build: BuildRow) -> list[BuildItemRow]:
    """The items that the request names; a request for a socket names none, so that nobody prints last year's scale."""
    rows = work.session.scalars(
        sa.select(RequestPartRow).where(RequestPartRow.request_id == build.request_id).order_by(RequestPartRow.id)
    ).all()
    places = {row.id: row.place_id for row in rows}
    parts = open_parts(work, {build.request_id: list(rows)})[build.request_id]
    return [
        BuildItemRow(
            build_id=build.id,
            place_id=None if part.happened is WhatHappened.SPARE else places[part.id],
            kind=part.kind,
            what=part.what,
            digit=part.digit,
            side=part.side,
            version_id=part.version,
            scale_across=(part.scale_across or 1.0) if part.version else None,
            scale_along=(part.scale_along or part.scale_across or 1.0) if part.version else None,
            material=_usual(part.material, part.materials),
            colour=part.colour,
            quantity=part.quantity,
            spare=part.happened is WhatHappened.SPARE,
        )
        for part in parts
    ]


def chosen(work: Work, build: BuildRow, items: Sequence[ChooseItem]) -> list[BuildItemRow]:
    """Items as somebody chose them; raises Invalid, naming the item, for what cannot be made or does not fit here."""
    return [_item(work, build, each, f"items.{at}") for at, each in enumerate(items)]


def _item(work: Work, build: BuildRow, given: ChooseItem, at: str) -> BuildItemRow:
    kind, digit, side, version = _what(work, build, given, at)
    worn_on = build.side
    if side is not None and worn_on is not None and (problem := side_problem(side, worn_on)) is not None:
        raise Invalid.at(f"{at}.side", problem)
    if (problem := digit_problem(kind, digit)) is not None:
        raise Invalid.at(f"{at}.digit", problem)
    material = given.material
    if version is not None:
        material = _allowed(material, version.materials)
        if material.casefold() not in {each.casefold() for each in version.materials or [material]}:
            raise Invalid.at(f"{at}.material", f"This version is printed in {' or '.join(version.materials)}.")
    elif not given.what:
        raise Invalid.at(f"{at}.what", "Say what is to be bought in plain words, such as “geared motor 6 V”.")
    return BuildItemRow(
        build_id=build.id,
        place_id=_place(work, build, given, kind, at),
        kind=kind,
        what=given.what,
        digit=Digit.THUMB if kind is PartKind.THUMB else digit,
        side=side,
        version_id=version.id if version else None,
        scale_across=given.scale_across if version else None,
        scale_along=(given.scale_along or given.scale_across) if version else None,
        material=material,
        colour=given.colour,
        quantity=given.quantity,
        spare=given.spare,
    )


def _what(
    work: Work, build: BuildRow, given: ChooseItem, at: str
) -> tuple[PartKind, Digit | None, Side | None, VersionRow | None]:
    """The kind, digit and side of an item, by its version's design or shape, or as somebody said of a bought one."""
    if given.version is None:
        if given.kind is None:
            raise Invalid.at(f"{at}.kind", "Say which version is to be printed, or what kind of thing is to be bought.")
        return given.kind, given.digit, given.side, None
    row = work.session.get(VersionRow, given.version, with_for_update={"read": True})
    if row is None:
        raise Invalid.at(f"{at}.version", _NO_VERSION)
    used = versions_used(work, [row.id])[row.id]
    if (problem := state_problem(used.name, row.state, used.successor_name)) is not None:
        raise Invalid.at(f"{at}.version", problem)
    if row.shape_id is not None:
        shape = work.session.get_one(ShapeRow, row.shape_id)
        if shape.recipient_id != build.recipient_id:
            raise Invalid.at(f"{at}.version", _NO_VERSION)
        return PartKind.SOCKET, None, shape.side, row
    design = work.session.get_one(DesignRow, row.design_id)
    return design.kind, given.digit or design.digit, given.side or design.side, row


def _place(work: Work, build: BuildRow, given: ChooseItem, kind: PartKind, at: str) -> int | None:
    if given.place is None:
        return None
    there = sa.select(PartRow.kind).join(PlaceRow, PlaceRow.part_id == PartRow.id)
    there = there.join(DeviceRow, DeviceRow.id == PlaceRow.device_id)
    there = there.where(PlaceRow.id == given.place, PlaceRow.until.is_(None), DeviceRow.id == build.device_id)
    found = work.session.scalar(there)
    if found is None:
        raise Invalid.at(f"{at}.place", "There is no such part in place in this device. Look at the device.")
    if found is not kind:
        raise Invalid.at(f"{at}.place", f"What is in place there is a {found.label}, no {kind.label}.")
    return given.place


def _usual(worn: str, materials: Sequence[str]) -> str:
    """The material that is worn if the version is printed in it, else the first it is printed in."""
    known = _allowed(worn, materials)
    return known if not materials or known in materials else materials[0]


def _allowed(material: str, materials: Sequence[str]) -> str:
    """The material as a version spells it; its first where none was said."""
    spelt = {each.casefold(): each for each in materials}
    if material.casefold() in spelt:
        return spelt[material.casefold()]
    return material if material or not materials else materials[0]
