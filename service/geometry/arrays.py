"""Words for arrays, and what several parts of this room do with them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool]


def components(count: int, one: Indices, two: Indices) -> tuple[int, Indices]:
    """How many parts hang together by pairs of `count` things, and the part of each (count)."""
    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, two)), shape=(count, count))
    parts, label = connected_components(graph, directed=False)
    return int(parts), label.astype(np.int64)


def runs(start: Indices, count: Indices) -> tuple[Indices, Indices]:
    """The numbers start, start + 1, … of each run, one after the other; before them, which run each is of."""
    owner = np.repeat(np.arange(len(count)), count)
    return owner, np.arange(len(owner)) - np.repeat(np.cumsum(count) - count - start, count)


def dot(one: Floats, two: Floats) -> Floats:
    """The dot product of each row (n, d) with its like."""
    return np.asarray(np.einsum("ij,ij->i", one, two))


def plural(count: int, one: str, many: str | None = None) -> str:
    """`1 hole`, `2 holes`, `1,204 edges`."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"
