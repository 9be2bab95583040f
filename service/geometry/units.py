"""Which unit a file is in, and whether a part of that size makes sense: an inch taken for a mm is 25.4 times off.

How large parts are is judgement, wide on purpose: a finger's pin is 12 mm, a socket for a whole arm half a metre.
"""

from __future__ import annotations

import numpy as np

from service.geometry.answers import Format, LengthUnit
from service.geometry.limits import FARTHEST_MM, SMALLEST_MM
from service.geometry.mesh import Drawn, Mesh
from service.kit.unfit import Unfit

PART_MM = (10.0, 500.0)  # the longest edge of the box around any part; judgement
SOCKET_MM = (45.0, 500.0)  # around a socket; a newborn's forearm is longer than that; judgement
_OFFERED = (LengthUnit.MILLIMETRE, LengthUnit.INCH, LengthUnit.CENTIMETRE, LengthUnit.METRE)
_BEYOND_MM = 1e9
_FLAT = 1e-6  # of the longest edge: what single precision leaves of a slanting plane


def settled(drawn: Drawn, file_format: Format, chosen: LengthUnit | None) -> LengthUnit:
    """The unit to read a file in; raises Unfit where nobody said, or the file says otherwise."""
    if file_format is Format.STL:
        if chosen is None:
            raise Unfit(
                "An STL does not say what unit it was drawn in. Say which (most programs export millimetres), and send "
                "it again; or send a 3MF, which carries its own."
            )
        return chosen
    named = drawn.unit or LengthUnit.MILLIMETRE
    if chosen is not None and chosen is not named:
        says = (
            f"This 3MF says that it is drawn in {named.label}"
            if drawn.unit is not None
            else "This 3MF names no unit, which by its standard means millimetres"
        )
        raise Unfit(
            f"{says}, and {chosen.label} were chosen. Choose {named.label} if the file is right; if not, save it again "
            "in the right unit."
        )
    return named


def in_mm(drawn: Drawn, unit: LengthUnit) -> Mesh:
    """The mesh in mm; raises Unfit where it has no size, or one that no part has."""
    is_used = np.zeros(len(drawn.vertices), dtype=bool)
    is_used[drawn.faces] = True
    # Corners that no triangle uses may lie anywhere; they are no part of the shape.
    with np.errstate(over="ignore"):
        used = drawn.vertices[is_used] * unit.in_mm
    astray = int((~np.isfinite(used)).any(axis=1).sum())
    if astray:
        raise Unfit(
            f"Of the corners in this file {astray:,} lie nowhere: their place is infinite or not a number. The mesh is "
            "broken; repair it in the program it was drawn in, and save it again."
        )
    mesh = Mesh(used, (np.cumsum(is_used) - 1)[drawn.faces])
    _refuse_size(mesh, unit)
    return mesh


def _refuse_size(mesh: Mesh, unit: LengthUnit) -> None:
    longest = _longest(mesh)
    if longest < SMALLEST_MM:
        raise Unfit(
            f"Read in {unit.label}, the whole part is {mm(longest)} across, smaller than anything a printer makes. "
            + _better(longest, unit, PART_MM, "Save it again at its real size.")
        )
    farthest = float(np.abs(mesh.vertices).max())
    if farthest > FARTHEST_MM:
        if longest > FARTHEST_MM / 2:
            raise Unfit(
                f"Read in {unit.label}, the part is {mm(longest)} long, which no part is. "
                + _better(longest, unit, PART_MM, "Save it again at its real size.")
            )
        raise Unfit(
            f"The part lies {mm(farthest)} from its origin, where numbers get too coarse to measure it. Move it near "
            "the origin in the program it was drawn in, and save it again."
        )
    spread = np.linalg.svd(_outline(mesh), compute_uv=False)
    if spread[-1] < _FLAT * spread[0]:
        raise Unfit(
            "Everything in this file lies in one plane: it is a drawing or a single face, not a part with a thickness. "
            "Export the part itself."
        )


def size_doubts(mesh: Mesh, unit: LengthUnit, *, is_socket: bool) -> list[str]:
    """What is odd about how large it is in this unit, and which unit would make sense of it."""
    longest = _longest(mesh)
    what, usual = ("a socket", SOCKET_MM) if is_socket else ("a part of a hand or a socket", PART_MM)
    if usual[0] <= longest <= usual[1]:
        return []
    how = "only " if longest < usual[0] else ""
    seldom = "small" if longest < usual[0] else "large"
    return [
        f"Read in {unit.label}, it is {how}{mm(longest)} at its longest, and {what} is hardly ever so {seldom}. "
        + _better(longest, unit, usual, "Look whether it was drawn at its real size.")
    ]


def said_doubts(drawn: Drawn, unit: LengthUnit, file_format: Format) -> list[str]:
    """An STL whose title names another unit than the one chosen."""
    if file_format is Format.STL and drawn.unit is not None and drawn.unit is not unit:
        return [
            f"A note inside the STL says {drawn.unit.label}, and {unit.label} were chosen. One of the two is wrong."
        ]
    return []


def mm(length: float) -> str:
    """A length as people say it: three figures, in metres when it is long."""
    if length >= _BEYOND_MM:
        return "more than a thousand kilometres"
    if length >= 1000:
        return f"{length / 1000:,.3g} m" if length < 1e6 else f"{length / 1000:,.0f} m"
    return f"{length:.3g} mm" if length >= 0.001 else "less than a thousandth of a millimetre"


def _better(longest: float, unit: LengthUnit, usual: tuple[float, float], otherwise: str) -> str:
    """Which units would make it a usual size."""
    sizes = [(other, longest / unit.in_mm * other.in_mm) for other in _OFFERED if other is not unit]
    sensible = [f"in {other.label} it would be {mm(size)}" for other, size in sizes if usual[0] <= size <= usual[1]]
    if sensible:
        return f"{' and '.join(sensible).capitalize()}: perhaps that is what it was drawn in."
    if usual[0] <= longest / LengthUnit.INCH.in_mm <= usual[1]:
        return (
            f"{LengthUnit.INCH.in_mm} times smaller it would be {mm(longest / LengthUnit.INCH.in_mm)}: perhaps it was "
            "turned from inches into millimetres twice."
        )
    return otherwise


def _longest(mesh: Mesh) -> float:
    with np.errstate(over="ignore"):
        return float(np.ptp(mesh.vertices, axis=0).max())


def _outline(mesh: Mesh) -> np.ndarray:
    """A matrix whose least singular value is nought when all corners lie in one plane."""
    centred = mesh.vertices - mesh.vertices.mean(axis=0)
    return np.asarray(np.linalg.qr(centred, mode="r"))
