"""What is done with a file inside the process that may die: from its bytes to plain figures, or a sentence."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from typing import Any

from service.geometry.answers import Axis, Format, Geometry, Inside, LengthUnit
from service.geometry.drawing import three_views
from service.geometry.frames import OUT_OF_MEMORY
from service.geometry.measure import measure
from service.geometry.mesh import Mesh
from service.geometry.stl import read_stl
from service.geometry.three_mf import read_three_mf
from service.geometry.units import in_mm, said_doubts, settled, size_doubts
from service.geometry.writing import write_three_mf
from service.kit.unfit import Unfit
from service.pictures.photograph import plain

Plain = dict[str, Any]
Progress = Callable[[Plain], None]


def do(asked: Plain, content: bytes, progress: Progress) -> tuple[Plain, bytes]:
    """The answer to `{"do": one of `_DONE`, …}`: plain figures, and bytes where there are any.

    What cannot be taken is `{"unfit": sentence}`; a fault of ours is `{"fault": where}`, without a word of the file.
    """
    try:
        return _DONE[asked["do"]](asked, content, progress)
    except Unfit as unfit:
        return {"unfit": unfit.message}, b""
    except MemoryError:
        return {OUT_OF_MEMORY: True}, b""
    except Exception as error:  # noqa: BLE001 whatever a file brings about, the one who sent it is told something
        where = " < ".join(
            f"{frame.name}:{frame.lineno}" for frame in reversed(traceback.extract_tb(error.__traceback__))
        )
        return {"fault": f"{type(error).__name__} in {where}"}, b""


def _read(asked: Plain, content: bytes, progress: Progress) -> tuple[Plain, bytes]:
    mesh, unit, doubts = _mesh(asked, content, progress)
    axis = Axis.model_validate(asked["axis"])
    geometry = _measured(mesh, axis, _inside(asked), doubts)
    return {"geometry": geometry.model_dump(mode="json"), "unit": unit.value}, three_views(mesh, axis)


def _at_scale(asked: Plain, content: bytes, progress: Progress) -> tuple[Plain, bytes]:
    mesh, _, doubts = _mesh(asked, content, progress)
    axis = Axis.model_validate(asked["axis"])
    along = asked["along"]
    larger = mesh.scaled(axis, asked["across"], along)
    inside = _inside(asked)
    if inside is not None:
        # A part is scaled about its axis' origin, a limb grows from its landmark: the origin moves along with it.
        inside = inside.model_copy(update={"level_at_origin_mm": inside.level_at_origin_mm * along})
    return {"geometry": _measured(larger, axis, inside, doubts).model_dump(mode="json")}, b""


def _scaled(asked: Plain, content: bytes, progress: Progress) -> tuple[Plain, bytes]:
    mesh, _, _ = _mesh(asked, content, progress)
    larger = mesh.scaled(Axis.model_validate(asked["axis"]), asked["across"], asked["along"])
    # An STL knows no shared corners; a 3MF's are as whoever drew it meant them.
    return {}, write_three_mf(larger, asked["metadata"], join=asked["format"] == Format.STL)


def _photograph(_asked: Plain, content: bytes, _progress: Progress) -> tuple[Plain, bytes]:
    jpeg, width, height = plain(content)
    return {"width": width, "height": height}, jpeg


_DONE: dict[str, Callable[[Plain, bytes, Progress], tuple[Plain, bytes]]] = {
    "read": _read,
    "at_scale": _at_scale,
    "scaled": _scaled,
    "photograph": _photograph,
}


def _mesh(asked: Plain, content: bytes, progress: Progress) -> tuple[Mesh, LengthUnit, list[str]]:
    file_format = Format(asked["format"])
    drawn = read_stl(content) if file_format is Format.STL else read_three_mf(content)
    progress({"triangles": len(drawn.faces)})
    chosen = asked["unit"]
    unit = settled(drawn, file_format, None if chosen is None else LengthUnit(chosen))
    mesh = in_mm(drawn, unit)
    is_socket = asked.get("inside") is not None
    odd = [*drawn.doubts, *said_doubts(drawn, unit, file_format), *size_doubts(mesh, unit, is_socket=is_socket)]
    return mesh, unit, odd


def _inside(asked: Plain) -> Inside | None:
    return None if asked["inside"] is None else Inside.model_validate(asked["inside"])


def _measured(mesh: Mesh, axis: Axis, inside: Inside | None, doubts: list[str]) -> Geometry:
    geometry = measure(mesh, axis, inside)
    return geometry.model_copy(update={"doubts": [*doubts, *geometry.doubts]})
