"""A socket printed from a version made for one person: which version may be used, and the limits that follow."""

from __future__ import annotations

from collections.abc import Sequence

from service.access.work import Work
from service.anthropometry import SAME_LEVEL_MM, Dimension
from service.assembly.particulars import Printed, Setting
from service.assembly.schemas import AddPrintedSocket
from service.assembly.stays import versions_used
from service.devices.schemas import AddLimit, AddSocket
from service.geometry.answers import Geometry, Inside, LevelGirth
from service.kit.errors import Invalid
from service.measurements.queries import readings_for
from service.measurements.rules import Place, levels_to_offer
from service.parts.rules import PartKind, limits_at
from service.parts.tables import DesignRow, ShapeRow, VersionRow

A_FEW = 4
"""So many limits are worked out where nothing was measured."""


def source(work: Work, where: Setting, version_id: int) -> Printed:
    """The version a socket was printed from: one made for this person, or of a design of sockets; Invalid otherwise."""
    row = work.session.get(VersionRow, version_id, with_for_update={"read": True})
    if row is None:
        raise _no_such_version()
    used = versions_used(work, [row.id])[row.id]
    if row.design_id is not None:
        design = work.session.get_one(DesignRow, row.design_id)
        if design.kind is not PartKind.SOCKET:
            raise Invalid.at("version", f"{used.name} is a {design.kind.label}, no socket. Check the number.")
        return Printed(row, used, PartKind.SOCKET, side=design.side)
    shape = work.session.get_one(ShapeRow, row.shape_id)
    if shape.recipient_id != where.seen.id:
        raise _no_such_version()
    if shape.struck_at is not None:
        raise Invalid.at("version", "The shape it was made from was struck through, as recorded by mistake.")
    return Printed(row, used, PartKind.SOCKET, side=shape.side)


def limits(work: Work, where: Setting, printed: Printed, command: AddPrintedSocket) -> list[AddLimit]:
    """Where the socket is tight: at the levels asked for, or measured, or a few; Invalid where nobody can say."""
    inside = Inside.model_validate(printed.row.inside) if printed.row.inside else None
    profile = Geometry.model_validate(printed.row.geometry).inside_profile
    if inside is None or not profile:
        raise Invalid.at("version", "The inside of this version is not known. Record the socket with its sizes.")
    liner = inside.liner_mm if command.liner_mm is None else command.liner_mm
    levels = command.levels or _levels(work, where, inside.dimension, profile, command.scale_along)
    found = limits_at(profile, command.scale_across, command.scale_along, liner, levels)
    if missed := [level for level in command.levels if level not in {each for each, _girth in found}]:
        ends = [each.level_mm * command.scale_along for each in profile]
        said = (
            f"The inside is known from {min(ends):.0f} to {max(ends):.0f} mm at this scale, so not at {missed[0]:g} mm."
        )
        raise Invalid.at("levels", said)
    return [
        AddLimit(dimension=inside.dimension, level_mm=round(level, 1), tight_at_mm=round(girth, 1))
        for level, girth in found
    ]


def as_command(command: AddPrintedSocket, computed: Sequence[AddLimit]) -> AddSocket:
    """What the room of devices is asked to record."""
    given = command.model_dump(include={"fitted_on", "socks_at_fitting", "note", "previous", "confirmed"})
    return AddSocket.model_validate({**given, "limits": [*computed, *command.limits]})


def _levels(
    work: Work, where: Setting, dimension: Dimension, profile: Sequence[LevelGirth], along: float
) -> list[float]:
    """The levels within the socket at which the limb was measured of late, or else a few from end to end."""
    side = where.device.side
    first, last = (end(each.level_mm for each in profile) * along for end in (min, max))
    here = Place.on_limb(where.seen.limbs.get(side), dimension, side, None)
    readings = readings_for(work, [where.seen.id])[where.seen.id]
    measured = [
        each.known
        for each in readings
        if (each.dimension, each.side, each.landmark) == (here.dimension, here.side, here.landmark)
        and each.level_mm is not None
        and first <= each.level_mm <= last
    ]
    if levels := levels_to_offer((), measured, work.today):
        return levels
    apart = max((last - first) / (A_FEW - 1), SAME_LEVEL_MM)
    return [first + apart * step for step in range(A_FEW) if first + apart * step <= last + 1e-9]


def _no_such_version() -> Invalid:
    return Invalid.at("version", "There is no such socket version in this case. Look it up among this person's shapes.")
