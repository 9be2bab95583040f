"""What may be asked of a file. Each is done in a child process with bounds (`bounded.py`), and never in a transaction.

All raise Unfit, with a sentence for a person, for a file that cannot be taken, and TooMany when others are in the way.
"""

from __future__ import annotations

import atexit
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.geometry.answers import Axis, Format, Geometry, Inside, LengthUnit
from service.geometry.bounded import Children
from service.geometry.limits import MOST_BYTES
from service.kit.unfit import Unfit

CHILDREN = Children()
atexit.register(CHILDREN.close)

_BEGINNINGS = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"%PDF": "a PDF",
    b"ISO-10303": "a STEP file",
    b"\x1f\x8b": "packed with gzip",
    b"7z\xbc\xaf": "packed with 7-Zip",
    b"Rar!": "packed with RAR",
    b"<?xml": "XML that is not packed as a 3MF",
    b"<svg": "a picture",
    b"ply\n": "a PLY file",
    b"glTF": "a glTF file",
    b"MZ": "a program",
    b"\x7fELF": "a program",
}
_ZIP = (b"PK\x03\x04", b"PK\x05\x06")


@dataclass(frozen=True, slots=True)
class Read:
    """What was read: the figures, the unit that was used, and three views of it as an SVG."""

    geometry: Geometry
    unit: LengthUnit
    picture_svg: bytes


def format_of(file_name: str, content: bytes) -> Format:
    """The kind of a file, by its name and its first bytes, which must agree; reads no further."""
    if not content:
        raise Unfit("This file is empty. Save it again, see that it has a size, and send that.")
    _refuse_size(content)
    looks = next((what for beginning, what in _BEGINNINGS.items() if content.startswith(beginning)), None)
    is_zip = content.startswith(_ZIP)
    match file_name.rpartition(".")[2].strip().lower():
        case "stl" if is_zip:
            raise Unfit(
                "This file is called an STL, and is a zip inside. If it is a 3MF, let its name end in .3mf; if an STL "
                "is packed in it, unpack that and send it."
            )
        case "stl" if looks is None:
            return Format.STL
        case "3mf" if is_zip:
            return Format.THREE_MF
        case "stl" | "3mf" as ending:
            is_what = f"is {looks}" if looks else "is not packed as a 3MF is"
            raise Unfit(
                f"This file's name ends in .{ending}, and it {is_what}. Export the part from the program it was drawn "
                "in, as STL or 3MF, and send that."
            )
        case _:
            raise Unfit(
                f"Parts are read from STL and 3MF files{f', and this is {looks}' if looks else ''}. Export the part as "
                "one of these, with a name that ends in .stl or .3mf, and send that."
            )


def read(content: bytes, format: Format, unit: LengthUnit | None, axis: Axis, inside: Inside | None) -> Read:  # noqa: A002 the word for it
    """Measure and draw a file. A unit of None is taken from a 3MF, and refused for an STL, which carries none."""
    done = CHILDREN.run(_asked("read", content, format, unit, axis, inside=_plain(inside)), content)
    geometry = Geometry.model_validate(done.figures["geometry"])
    return Read(geometry, LengthUnit(done.figures["unit"]), done.data)


def at_scale(  # noqa: PLR0917 a scale needs all that reading does
    content: bytes,
    format: Format,  # noqa: A002 the word for it
    unit: LengthUnit | None,
    axis: Axis,
    inside: Inside | None,
    across: float,
    along: float,
) -> Geometry:
    """The figures of the mesh at two scales, computed from the scaled mesh itself."""
    asked = _asked("at_scale", content, format, unit, axis, inside=_plain(inside), across=across, along=along)
    return Geometry.model_validate(CHILDREN.run(asked, content).figures["geometry"])


def scaled(  # noqa: PLR0917 as at_scale
    content: bytes,
    format: Format,  # noqa: A002 the word for it
    unit: LengthUnit | None,
    axis: Axis,
    across: float,
    along: float,
    metadata: Mapping[str, str],
) -> bytes:
    """A 3MF in mm of the mesh at two scales; the same arguments give the same bytes.

    Metadata are named in words (`writing.metadata_name`); raises ValueError for two names that become one.
    """
    asked = _asked("scaled", content, format, unit, axis, across=across, along=along, metadata=dict(metadata))
    return CHILDREN.run(asked, content).data


@dataclass(frozen=True, slots=True)
class Photograph:
    """A photograph drawn anew, with nothing but its picture: a JPEG, and its size in pixels."""

    jpeg: bytes
    width: int
    height: int


def photograph(content: bytes) -> Photograph:
    """A photograph made plain; see `pictures`."""
    done = CHILDREN.run({"do": "photograph"}, content)
    return Photograph(done.data, done.figures["width"], done.figures["height"])


def _asked(
    do: str,
    content: bytes,
    file_format: Format,
    unit: LengthUnit | None,
    axis: Axis,
    **more: Any,
) -> dict[str, Any]:
    _refuse_size(content)
    return {
        "do": do,
        "format": file_format.value,
        "unit": None if unit is None else unit.value,
        "axis": axis.model_dump(mode="json"),
        **more,
    }


def _plain(inside: Inside | None) -> dict[str, Any] | None:
    return None if inside is None else inside.model_dump(mode="json")


def _refuse_size(content: bytes) -> None:
    if len(content) > MOST_BYTES:
        raise Unfit(
            f"This file has {len(content) / 2**20:,.0f} MB, and {MOST_BYTES // 2**20} MB are the most that are read. "
            "Make the mesh coarser, or save it as 3MF, which is a good deal smaller."
        )
