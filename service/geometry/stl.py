"""An STL, binary or as text, read strictly: what it says of itself is held against what is there before it is believed.

An STL is triangles without a unit. A binary one is 80 bytes of anything, a count, and 50 bytes a triangle.
"""

from __future__ import annotations

import re
import struct
from array import array

import numpy as np

from service.geometry.answers import LengthUnit
from service.geometry.limits import MOST_TRIANGLES
from service.geometry.mesh import Drawn
from service.kit.unfit import Unfit

HEADER = 84
TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

# A word is bounded and holds no underscore, which Python would read as part of a number.
_WORD = rb"\s+([^\s_]{1,60})"
_FACET = re.compile(
    rb"\s*facet\s+normal(?:\s+\S{1,60}){3}\s+outer\s+loop"
    + 3 * (rb"\s+vertex" + 3 * _WORD)
    + rb"\s+endloop\s+endfacet(?=\s|$)",
    re.IGNORECASE,
)
_SOLID = re.compile(rb"\s*solid(?=\s|$)[^\r\n]*", re.IGNORECASE)
_END = re.compile(rb"\s*endsolid(?=\s|$)[^\r\n]*", re.IGNORECASE)
_LONGEST_FACET = 2_000  # bytes, generously

_UNIT_SAID = re.compile(
    r"\bunits?\b\s*[:=]?\s*(mm|millimet\w*|cm|centimet\w*|m|met(?:er|re)s?|in|inch(?:es)?)\b", re.IGNORECASE
)
_UNITS = {"mm": LengthUnit.MILLIMETRE, "mi": LengthUnit.MILLIMETRE, "c": LengthUnit.CENTIMETRE, "i": LengthUnit.INCH}


def read_stl(content: bytes) -> Drawn:
    """The triangles of an STL, three corners each, none shared; raises Unfit."""
    declared = _declared(content)
    if declared is not None and len(content) == HEADER + declared * TRIANGLE.itemsize:
        return _binary(content, declared, [])
    if _SOLID.match(content) and b"facet" in content[:4096].lower():
        return _text(content)
    if declared is None:
        raise Unfit(
            f"This file is {len(content)} bytes long, which is too short for an STL of even one triangle. "
            "Save it again from the program it was drawn in."
        )
    return _binary_that_does_not_add_up(content, declared)


def _declared(content: bytes) -> int | None:
    if len(content) < HEADER:
        return None
    count: int = struct.unpack_from("<I", content, 80)[0]
    return count


def _binary_that_does_not_add_up(content: bytes, declared: int) -> Drawn:
    if _is_writing(content[:512]):
        raise Unfit("This is text, but not the text of an STL. Export the part as STL or 3MF, and send that.")
    there, over = divmod(len(content) - HEADER, TRIANGLE.itemsize)
    if declared > there:
        raise Unfit(
            f"This STL says that it holds {declared:,} triangles, and there is room in it for {there:,}. It was cut "
            "short on its way, or is no STL. Save it again, and see that all of it arrives."
        )
    if there > declared:
        raise Unfit(
            f"This STL says that it holds {declared:,} triangles, and {there:,} are there. One of the two is wrong, "
            "and a part could be missing a piece. Save it again from the program it was drawn in."
        )
    odd = f"After the last triangle there are {over} bytes that no STL needs. They were not read."
    return _binary(content, declared, [odd])


def _binary(content: bytes, declared: int, doubts: list[str]) -> Drawn:
    if declared == 0:
        raise Unfit("There is not one triangle in this STL. Export the part again, with the part itself selected.")
    if declared > MOST_TRIANGLES:
        raise too_many(declared)
    triangles = np.frombuffer(content, dtype=TRIANGLE, count=declared, offset=HEADER)
    with np.errstate(invalid="ignore"):  # numbers that are none are counted and refused in one place, later
        corners = triangles["corners"].astype(np.float64).reshape(-1, 3)
    header = content[:80].decode("latin-1")
    return Drawn(corners, np.arange(3 * declared, dtype=np.int64).reshape(-1, 3), _unit_said(header), doubts)


def _text(content: bytes) -> Drawn:
    numbers = array("d")
    title, at = _opening(content, 0)
    while True:
        facet = _FACET.match(content, at, at + _LONGEST_FACET)
        if facet is not None:
            _take(numbers, facet, content)
            at = facet.end()
            continue
        end = _END.match(content, at)
        if end is None:
            raise _broken_off(content, at)
        at = end.end()
        if not content[at:].strip():
            break
        _, at = _opening(content, at)
    corners = np.frombuffer(numbers, dtype=np.float64).reshape(-1, 3)
    if not len(corners):
        raise Unfit("There is not one triangle in this STL. Export the part again, with the part itself selected.")
    return Drawn(corners, np.arange(len(corners), dtype=np.int64).reshape(-1, 3), _unit_said(title))


def _opening(content: bytes, at: int) -> tuple[str, int]:
    """The line that opens a solid, and where it ends."""
    opening = _SOLID.match(content, at)
    if opening is None:
        raise _broken_off(content, at)
    return opening.group().decode("latin-1")[:200], opening.end()


def _take(numbers: array[float], facet: re.Match[bytes], content: bytes) -> None:
    try:
        numbers.extend(map(float, facet.groups()))
    except ValueError:
        line = _line(content, facet.end())
        comma = any(b"," in each for each in facet.groups())
        advice = "Numbers need a point, not a comma: set the program to English numbers, and save it again."
        raise Unfit(
            f"Just before line {line:,} of this STL a corner's place is not a number. "
            + (advice if comma else "Save it again from the program it was drawn in.")
        ) from None
    if len(numbers) > 9 * MOST_TRIANGLES:
        raise too_many(len(numbers) // 9)


def _broken_off(content: bytes, at: int) -> Unfit:
    start = at + len(content[at : at + 200]) - len(content[at : at + 200].lstrip())
    if len(content) - start < 400 and not _END.search(content, start):
        return Unfit("This STL ends in the middle: it was cut short on its way. Save it again, and send all of it.")
    return Unfit(
        f"Line {_line(content, start):,} of this STL is not what an STL says there. It is damaged, or another kind of "
        "file. Save it again from the program it was drawn in, as a binary STL if there is a choice."
    )


def _line(content: bytes, at: int) -> int:
    return content.count(b"\n", 0, at) + 1


def _is_writing(piece: bytes) -> bool:
    return all(32 <= byte < 127 or byte in b"\t\r\n" for byte in piece)


def _unit_said(words: str) -> LengthUnit | None:
    """The unit that an exporter wrote into the title, where nothing obliges it to; most write none."""
    said = _UNIT_SAID.search(words)
    if said is None:
        return None
    word = said[1].lower()
    return next((unit for start, unit in _UNITS.items() if word.startswith(start)), LengthUnit.METRE)


def too_many(triangles: int) -> Unfit:
    """A refusal for a mesh that is finer than any print."""
    return Unfit(
        f"This file holds {triangles:,} triangles or more, and {MOST_TRIANGLES:,} are the most that are read. "
        "A printer cannot show such detail: make the mesh coarser (100,000 triangles are plenty), and send that."
    )
