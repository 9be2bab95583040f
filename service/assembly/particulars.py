"""What a part is, checked against its version, its lots and whoever will wear it; `actions.py` has the use cases.

What cannot be raises Invalid at its field; what is only surprising comes back as doubts. A version or lot that was
withdrawn or held since the day a part was put in place is such a surprise: the part may well have been made before.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.answers import VersionUsed
from service.assembly.rules import TOUCHES_SKIN, digit_problem, side_problem, state_problem
from service.assembly.schemas import NewPart
from service.assembly.stays import versions_used
from service.assembly.tables import PartLotRow, PartRow
from service.devices.tables import DeviceRow
from service.kit.days import full_day
from service.kit.errors import Doubt, Invalid
from service.lots.rules import LotKind, LotState, why_not_used
from service.lots.tables import LotRow
from service.parts.rules import Digit, PartKind, VersionState
from service.parts.tables import DesignRow, VersionRow
from service.recipients.rules import Side
from service.recipients.schemas import SeenRecipient
from service.recipients.tables import RecipientRow

SOCKETS_ARE_RECORDED_APART = (
    "A socket is recorded with the sizes at which it is tight: use the device's form for a new socket, or for one "
    "printed from a version made for this person."
)


@dataclass(frozen=True)
class Setting:
    """Where a part goes: whose case, which device, since when."""

    seen: SeenRecipient
    device: DeviceRow
    on: date


@dataclass(frozen=True)
class Printed:
    """A version to print from, and what its design says of every part of it."""

    row: VersionRow
    used: VersionUsed
    kind: PartKind
    digit: Digit | None = None
    side: Side | None = None


def described(
    work: Work, where: Setting, command: NewPart, printed: Printed | None, like: PartRow | None = None
) -> tuple[PartRow, list[Doubt]]:
    """A part as a command describes it, not yet stored, and what is surprising about it; `like` is the one before."""
    kind = _kind(command, printed, like)
    digit = _digit(command, printed, like, kind)
    side = _side(command, printed, where.device.side)
    lots = made_from(work, command.lots)
    material, colour = _stuff(command, printed, lots, like)
    doubts = [*_about_lots(work, where, kind, lots, made_now=True)]
    if printed is not None:
        doubts += released(printed.used, printed.row, where.on, "version")
    if (wrong := _wrong_lot(lots, where, printed, material)) is not None:
        raise Invalid.at("lots", wrong)
    part = PartRow(
        site_id=where.seen.site_id,
        kind=kind,
        what=_what(command, printed, lots, like),
        digit=digit,
        side=side,
        version_id=printed.row.id if printed else None,
        scale_across=command.scale_across if printed else None,
        scale_along=command.scale_along if printed else None,
        material=material,
        colour=colour,
        serial=command.serial,
        note=command.note,
        created_at=work.now,
        created_by=work.actor.name,
    )
    return part, doubts


def moved(work: Work, where: Setting, part: PartRow) -> list[Doubt]:
    """What is surprising about a part going into another device; raises Invalid if it must not."""
    if (problem := side_problem(part.side, where.device.side)) is not None:
        raise Invalid.at("device", problem)
    made = work.session.scalars(sa.select(PartLotRow.lot_id).where(PartLotRow.part_id == part.id)).all()
    doubts = list(_about_lots(work, where, part.kind, made_from(work, made), made_now=False))
    if part.version_id is not None:
        row = work.session.get_one(VersionRow, part.version_id)
        doubts += released(versions_used(work, [row.id])[row.id], row, where.on, "device")
    return doubts


def version(work: Work, version_id: int) -> Printed:
    """The version of a design; raises Invalid for none, and for one made for a person, which is a socket's."""
    # Held still until we are done: a version that is being withdrawn either is so already, or finds this part.
    row = work.session.get(VersionRow, version_id, with_for_update={"read": True})
    if row is None:
        raise Invalid.at("version", "There is no part version with this number. Look it up among the part designs.")
    if row.design_id is None:
        raise Invalid.at("version", SOCKETS_ARE_RECORDED_APART)
    design = work.session.get_one(DesignRow, row.design_id)
    if design.kind is PartKind.SOCKET:
        raise Invalid.at("version", SOCKETS_ARE_RECORDED_APART)
    return Printed(row, versions_used(work, [row.id])[row.id], design.kind, design.digit, design.side)


def released(used: VersionUsed, row: VersionRow, on: date, field: str) -> list[Doubt]:
    """Raises Invalid for a version that was not to be used on a day; doubts one that was withdrawn since."""
    problem = state_problem(used.name, row.state, used.successor_name)
    if problem is None:
        return []
    if row.state is VersionState.WITHDRAWN and row.withdrawn_at is not None and on < row.withdrawn_at.date():
        return [Doubt(field, f"{problem} That was on {full_day(row.withdrawn_at.date())}; was it put in place before?")]
    raise Invalid.at(field, problem)


def made_from(work: Work, ids: Sequence[int]) -> list[LotRow]:
    """Lots by their ids, in that order; raises Invalid for one that there is not."""
    # Held still, as versions are.
    chosen = sa.select(LotRow).where(LotRow.id.in_(ids)).order_by(LotRow.id).with_for_update(read=True)
    known = {row.id: row for row in work.session.scalars(chosen)} if ids else {}
    for each in ids:
        if each not in known:
            raise Invalid.at("lots", f"There is no lot {each} at this case's site. Look it up among the lots.")
    return [known[each] for each in dict.fromkeys(ids)]


def _kind(command: NewPart, printed: Printed | None, like: PartRow | None) -> PartKind:
    kind = printed.kind if printed else command.kind or (like.kind if like else None)
    if kind is None:
        raise Invalid.at("kind", "Say what kind of part it is, or which version it was printed from.")
    if printed and command.kind not in {None, kind}:
        raise Invalid.at("kind", f"{printed.used.name} is a {kind.label}. Leave the kind out, or check the version.")
    if kind is PartKind.SOCKET and printed is None:
        raise Invalid.at("kind", SOCKETS_ARE_RECORDED_APART)
    if like is not None and like.kind is not kind:
        field = "version" if printed else "kind"
        said = f"A {kind.label} does not take the place of a {like.kind.label}. Take that off, and put this in place."
        raise Invalid.at(field, said)
    return kind


def _digit(command: NewPart, printed: Printed | None, like: PartRow | None, kind: PartKind) -> Digit | None:
    of_design = printed.digit if printed else None
    digit = command.digit or of_design or (like.digit if like else None)
    if of_design is not None and digit is not of_design:
        raise Invalid.at("digit", f"This design is for the {of_design}. Check the version, or leave the digit out.")
    if like is not None and like.digit is not None and digit is not like.digit:
        raise Invalid.at("digit" if command.digit else "version", f"What comes off is the {like.digit}. Check which.")
    if (problem := digit_problem(kind, digit)) is not None:
        raise Invalid.at("digit", problem)
    return Digit.THUMB if kind is PartKind.THUMB else digit


def _side(command: NewPart, printed: Printed | None, worn_on: Side) -> Side | None:
    of_design = printed.side if printed else None
    if command.side is not None and of_design not in {None, command.side}:
        raise Invalid.at("side", f"This design is for the {of_design}. Check the version, or leave the side out.")
    side = command.side or of_design
    if (problem := side_problem(side, worn_on)) is not None:
        raise Invalid.at("side" if command.side else "version", problem)
    return side


def _what(command: NewPart, printed: Printed | None, lots: Sequence[LotRow], like: PartRow | None) -> str:
    what = command.what or (lots[0].what if len(lots) == 1 and printed is None else "")
    if not what and printed is None:
        what = like.what if like else ""
    if not what and printed is None:
        raise Invalid.at("what", "Say what it is in plain words, such as “geared motor 6 V”, or choose its lot.")
    return what


def _stuff(command: NewPart, printed: Printed | None, lots: Sequence[LotRow], like: PartRow | None) -> tuple[str, str]:
    """The material and the colour: as said, as the lots agree, as the part before, or all that is allowed."""
    spools = [lot for lot in lots if lot.kind is LotKind.FILAMENT or printed is None]
    known: Sequence[LotRow | PartRow] = spools if lots or like is None else [like]
    materials, colours = {each.material for each in known}, {each.colour for each in known}
    material = command.material or (materials.pop() if len(materials) == 1 else "")
    colour = command.colour or (colours.pop() if len(colours) == 1 else "")
    if printed is None or not printed.row.materials:
        return material, colour
    allowed = {each.casefold(): each for each in printed.row.materials}
    if not material and len(allowed) == 1:
        material = printed.row.materials[0]
    if material.casefold() not in allowed:
        said = f"{printed.used.name} is printed in {' or '.join(allowed.values())}."
        raise Invalid.at("material", f"{said} {'Choose one of these.' if material else 'Say in which it was printed.'}")
    return allowed[material.casefold()], colour


def _wrong_lot(lots: Sequence[LotRow], where: Setting, printed: Printed | None, material: str) -> str | None:
    for lot in lots:
        if lot.site_id != where.seen.site_id:
            return f"There is no lot {lot.id} at this case's site. Look it up among the lots."
        if printed is None and lot.kind is LotKind.FILAMENT:
            return f"Lot {lot.id} is filament, and this part was bought. Choose the lot it came in."
        spool = printed is not None and lot.kind is LotKind.FILAMENT and lot.material
        if spool and material and lot.material.casefold() != material.casefold():
            return f"Lot {lot.id} is {lot.material}, not {material}. Check the lot and the material."
    return None


def _about_lots(
    work: Work, where: Setting, kind: PartKind, lots: Sequence[LotRow], *, made_now: bool
) -> Iterator[Doubt]:
    """What is surprising about lots; raises Invalid for what must not be worn. One that is used up may still move."""
    field = "lots" if made_now else "device"
    allergic = sa.select(RecipientRow.latex_allergy).where(RecipientRow.id == where.seen.id)
    is_allergic = bool(lots) and work.session.scalar(allergic)
    for lot in lots:
        called = f"Lot {lot.id} ({lot.what}, {lot.maker} {lot.batch})"
        why = why_not_used(lot.state) if made_now or lot.state is not LotState.USED_UP else None
        if why is not None and where.on >= lot.state_since:
            raise Invalid.at(field, f"{called} cannot be used. {why}")
        if why is not None:
            since = full_day(lot.state_since)
            yield Doubt(field, f"{called} has been {lot.state.label} since {since}; was it put in place before?")
        if is_allergic and lot.latex_free is False:
            raise Invalid.at(field, f"{called} holds latex, and {where.seen.given_name} is allergic to it.")
        if is_allergic and lot.latex_free is None:
            yield Doubt(
                field, f"{where.seen.given_name} is allergic to latex, and nobody knows if {called} is free of it."
            )
        if lot.skin_contact is False and kind in TOUCHES_SKIN:
            yield Doubt(field, f"{called} may not touch the skin, and a {kind.label} does.")
        if made_now and where.on < lot.received_on:
            yield Doubt(field, f"{called} came in on {full_day(lot.received_on)}, after this day.")


def lot_rows(part_id: int, ids: Sequence[int]) -> list[Any]:
    """The rows that say which lots a part was made from."""
    return [PartLotRow(part_id=part_id, lot_id=each) for each in dict.fromkeys(ids)]
