"""Lines between pixels, followed, smoothed and thinned out."""

from __future__ import annotations

import numpy as np

from service.geometry.arrays import Bools, Floats


def rims(inside: Bools) -> list[Floats]:
    """The closed lines around some pixels, holes too: corners of pixels (n, 2), column and row."""
    return follow(inside[:, :-1] != inside[:, 1:], inside[:-1] != inside[1:])


def follow(beside: Bools, above: Bools) -> list[Floats]:
    """Lines from the sides of pixels where there is one: between neighbours in a row, and in a column.

    A line ends where it meets others, or is closed: then its last point is its first.
    """
    wide = above.shape[1] + 1
    row, column = np.nonzero(beside)
    upright = np.column_stack([row * wide + column + 1, (row + 1) * wide + column + 1])
    row, column = np.nonzero(above)
    level = np.column_stack([(row + 1) * wide + column, (row + 1) * wide + column + 1])
    sides = np.concatenate([upright, level])
    if not len(sides):
        return []
    met: dict[int, list[int]] = {}
    pairs = sides.tolist()
    for number, (one, two) in enumerate(pairs):
        met.setdefault(one, []).append(number)
        met.setdefault(two, []).append(number)
    used = bytearray(len(pairs))
    starts = [number for point in met if len(met[point]) != 2 for number in met[point]]
    lines = []
    for first in [*starts, *range(len(pairs))]:
        if used[first]:
            continue
        one, two = pairs[first]
        here = one if len(met[one]) != 2 or len(met[two]) == 2 else two
        chain, number = [here], first
        while True:
            used[number] = 1
            here = pairs[number][1] if pairs[number][0] == here else pairs[number][0]
            chain.append(here)
            ahead = [each for each in met[here] if not used[each]]
            if len(met[here]) != 2 or not ahead:
                break
            number = ahead[0]
        points = np.array(chain)
        lines.append(np.column_stack([points % wide, points // wide]).astype(np.float64))
    return lines


def smoothed(line: Floats) -> Floats:
    """A line without the steps of the pixels; its ends stay where they are."""
    for _ in range(2):
        if len(line) < 4:
            return line
        if (line[0] == line[-1]).all():
            ring = line[:-1]
            ring = (np.roll(ring, 1, axis=0) + 2 * ring + np.roll(ring, -1, axis=0)) / 4
            line = np.concatenate([ring, ring[:1]])
        else:
            line = np.concatenate([line[:1], (line[:-2] + 2 * line[1:-1] + line[2:]) / 4, line[-1:]])
    return line


def thinned(line: Floats, within: float) -> Floats:
    """As few of its points as come within a distance of all of them."""
    keep = np.zeros(len(line), dtype=bool)
    keep[[0, -1]] = True
    parts = [(0, len(line) - 1)]
    if (line[0] == line[-1]).all():
        far = int(np.linalg.norm(line - line[0], axis=1).argmax())
        keep[far] = True
        parts = [(0, far), (far, len(line) - 1)]
    while parts:
        first, last = parts.pop()
        if last - first < 2:
            continue
        way, between = line[last] - line[first], line[first + 1 : last] - line[first]
        share = np.clip(between @ way / max(float(way @ way), 1e-300), 0, 1)
        away = np.linalg.norm(between - share[:, None] * way, axis=1)
        farthest = int(away.argmax())
        if away[farthest] > within:
            middle = first + 1 + farthest
            keep[middle] = True
            parts += [(first, middle), (middle, last)]
    return line[keep]


def area(line: Floats) -> float:
    """What a closed line goes around."""
    (x, y), (u, v) = line[:-1].T, line[1:].T
    return float(abs(np.sum(x * v - y * u)) / 2)
