"""An address as a code for a telephone's camera, as the outline of its dark squares: a template draws it, no script."""

from __future__ import annotations

from dataclasses import dataclass

import segno

QUIET = 4
"""Light squares around a code, without which cameras do not find it (ISO/IEC 18004)."""


@dataclass(frozen=True, slots=True)
class Code:
    """`outline` is an SVG path in a square `size` units wide, its quiet edge counted; `address` stands beside it."""

    address: str
    size: int
    outline: str

    @property
    def svg(self) -> str:
        """The code as a file of its own, for what takes pictures as files."""
        box = f'viewBox="0 0 {self.size} {self.size}"'
        return f'<svg xmlns="http://www.w3.org/2000/svg" {box}><path fill="#000" d="{self.outline}"/></svg>'


def code(address: str) -> Code:
    """The code of an address; it is still read with a seventh of it dirty or torn (level M)."""
    rows = [list(row) for row in segno.make(address, micro=False, error="m", boost_error=False).matrix]
    runs = [
        f"M{start + QUIET} {y + QUIET}h{end - start}v1h-{end - start}z"
        for y, row in enumerate(rows)
        for start, end in _dark(row)
    ]
    return Code(address, len(rows) + 2 * QUIET, "".join(runs))


def _dark(row: list[int]) -> list[tuple[int, int]]:
    """Where the dark squares of a row begin and end."""
    edges = [x for x in range(len(row) + 1) if (x < len(row) and row[x]) != (x > 0 and row[x - 1])]
    return list(zip(edges[::2], edges[1::2], strict=True))
