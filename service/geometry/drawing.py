"""Three views of a mesh as a workshop drawing: an SVG in the ink of the page around it, without scripts or references.

The view from the front stands at the bottom left, with the part's own axis upright; that along the axis, from its far
end, above it, and that from the right beside it, each where it is folded to from the front.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

import numpy as np

from service.geometry.answers import Axis
from service.geometry.arrays import Floats
from service.geometry.bodies import nesting
from service.geometry.lines import area, follow, rims, smoothed, thinned
from service.geometry.mesh import Mesh
from service.geometry.sections import Frame
from service.geometry.surface import surface
from service.geometry.views import PIXELS, Scene, View, look, rounded_normals, smooth_pieces

MOST_BYTES = 60_000
_WIDE, _HIGH = 300.0, 330.0  # units for the views
_GAP, _LEFT, _TOP, _BOTTOM, _RIGHT = 44.0, 52.0, 18.0, 44.0, 20.0
_LEAST_WIDE = 240.0
_FINEST, _COARSER = 0.6, 1.6  # pixels that a line may be off, and how much more when it takes too many bytes
_SHORTEST = 7  # pixels of a line inside
_SPECK = 24.0  # pixels: a smaller patch of tone is left out
_TEXT = 11
_CAPTION = 62.0  # units that "right side" takes
# Which of across, aside and along goes right, up and in depth; and whether that comes towards the eye or goes away.
_VIEWS = (([0, 2, 1], -1), ([1, 2, 0], 1), ([0, 1, 2], 1))
_BEYOND = 7.0  # units that the axis reaches beyond the part


def three_views(mesh: Mesh, axis: Axis) -> bytes:
    """Front, side and along the axis, all to one scale, with the part's size and a bar of so many mm."""
    ordered = nesting(surface(mesh)).surface
    frame = Frame.of(axis)
    places = frame.place(ordered.vertices)
    low, high = places.min(axis=0), places.max(axis=0)
    across, aside, along = (float(edge) for edge in np.maximum(high - low, 1e-3))
    scale = min((_WIDE - _GAP) / (across + aside), (_HIGH - _GAP) / (along + aside))
    turn = np.column_stack([frame.across, frame.aside, frame.along])
    normals = ordered.normals @ turn
    pieces = smooth_pieces(ordered)
    rounded = rounded_normals(ordered, pieces) @ turn
    corners = (places - low)[ordered.faces] * scale
    size = (high - low) * scale
    both_sides = not bool(ordered.closed.all())
    seen = []
    for order, towards in _VIEWS:
        flip = np.array([1, 1, towards])
        scene = Scene(corners[..., order] * flip, normals[:, order] * flip, rounded[..., order] * flip, pieces)
        seen.append(look(scene, size[order[0]], size[order[1]], both_sides=both_sides))
    sheet = _Sheet.of(size, scale, -low * scale)
    title = f"Three views: {_mm(across)} across, {_mm(aside)} deep and {_mm(along)} along its axis"
    within = _FINEST
    while True:
        drawn = _svg(sheet, [_Drawn.of(view, within) for view in seen], (across, aside, along), title)
        if len(drawn) <= MOST_BYTES or within > 40:
            return drawn
        within *= _COARSER


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Where things stand, in units from the top left: the corner at the bottom left of each view, and all of it."""

    front: tuple[float, float]
    side: tuple[float, float]
    top: tuple[float, float]
    size: Floats
    scale: float
    origin: Floats
    wide: float
    high: float

    @classmethod
    def of(cls, size: Floats, scale: float, origin: Floats) -> _Sheet:
        x, y, z = (float(each) for each in size)
        ground = _TOP + y + _GAP + z
        wide = max(_LEFT + x + _GAP + max(y, _CAPTION) + _RIGHT, _LEAST_WIDE)
        return cls(
            (_LEFT, ground),
            (_LEFT + x + _GAP, ground),
            (_LEFT, _TOP + y),
            size,
            scale,
            origin,
            wide,
            ground + _BOTTOM,
        )


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The paths of a view, in tenths of a unit from its bottom left: two tones, the lines inside, the outline."""

    tones: tuple[str, str]
    inner: str
    outline: str

    @classmethod
    def of(cls, view: View, within: float) -> _Drawn:
        speck = _SPECK * (within / _FINEST) ** 2
        tones = [
            _path([line for line in rims((view.tone >= tone) & (view.piece >= 0)) if area(line) > speck], within)
            for tone in (1, 2)
        ]
        inner = [line for line in follow(*view.inner) if len(line) > _SHORTEST * within / _FINEST]
        outline = [line for line in follow(*view.outline) if len(line) > 4]
        return cls((tones[0], tones[1]), _path(inner, within), _path(outline, within))


def _path(lines: list[Floats], within: float) -> str:
    """Lines as a path in whole tenths of a unit."""
    parts = []
    for line in lines:
        points = np.round((thinned(smoothed(line), within) - 1) / PIXELS * 10).astype(np.int64) * (1, -1)
        steps = np.diff(points, axis=0)
        steps = steps[steps.any(axis=1)]
        if len(steps):
            joined = " ".join(f"{x} {y}" for x, y in steps.tolist())
            parts.append(f"M{points[0, 0]} {points[0, 1]}l{joined}".replace(" -", "-"))
    return "".join(parts)


def _svg(sheet: _Sheet, drawn: list[_Drawn], edges: tuple[float, float, float], title: str) -> bytes:
    views = "".join(
        f'<g transform="translate({x:.1f} {y:.1f}) scale(.1)">{_view(view)}</g>'
        for (x, y), view in zip((sheet.front, sheet.side, sheet.top), drawn, strict=True)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {sheet.wide:.0f} {sheet.high:.0f}" '
        f'width="{sheet.wide:.0f}" height="{sheet.high:.0f}" role="img" '
        f'fill="none" stroke="currentColor" stroke-linejoin="round" stroke-linecap="round">'
        f"<title>{title}</title>{views}{_axes(sheet)}{_sizes(sheet, edges)}{_bar(sheet)}</svg>"
    ).encode()


def _view(view: _Drawn) -> str:
    tones = "".join(f'<path d="{path}" fill-rule="evenodd"/>' for path in view.tones if path)
    shade = f'<g fill="currentColor" fill-opacity=".13" stroke="none">{tones}</g>' if tones else ""
    inner = f'<path stroke-width="6" d="{view.inner}"/>' if view.inner else ""
    return f'{shade}{inner}<path stroke-width="11" d="{view.outline}"/>'


def _axes(sheet: _Sheet) -> str:
    """The part's axis, where it is near the part: upright in two views, a cross in the third."""
    x, y, z = (float(each) for each in sheet.size)
    ox, oy, _ = (float(each) for each in sheet.origin)
    if not (-0.1 * x <= ox <= 1.1 * x and -0.1 * y <= oy <= 1.1 * y):
        return ""
    lines = [
        _line(left + at, ground + _BEYOND, left + at, ground - z - _BEYOND)
        for (left, ground), at in ((sheet.front, ox), (sheet.side, oy))
    ]
    left, ground = sheet.top
    lines.append(_line(left + ox, ground - oy - 6, left + ox, ground - oy + 6))
    lines.append(_line(left + ox - 6, ground - oy, left + ox + 6, ground - oy))
    return f'<g stroke-width=".6" stroke-dasharray="9 2.5 1.5 2.5">{"".join(lines)}</g>'


def _sizes(sheet: _Sheet, edges: tuple[float, float, float]) -> str:
    """The part's size, between short strokes, and what each view is."""
    x, y, z = (float(each) for each in sheet.size)
    (fx, fy), (sx, sy), (tx, ty) = sheet.front, sheet.side, sheet.top
    lines = [
        *_spread(fx, fy + 14, fx + x, fy + 14),
        *_spread(sx, sy + 14, sx + y, sy + 14),
        *_spread(fx - 14, fy, fx - 14, fy - z),
    ]
    across, aside, along = (_mm(edge) for edge in edges)
    words = [
        _words(fx + x / 2, fy + 27, across, "middle"),
        _words(sx + y / 2, sy + 27, aside, "middle"),
        f'<g transform="rotate(-90 {fx - 18:.1f} {fy - z / 2:.1f})">{_words(fx - 18, fy - z / 2, along, "middle")}</g>',
        _words(fx, fy + 40, "front", "start"),
        _words(sx, sy + 40, "right side", "start"),
        _words(tx, ty + 13, "along the axis", "start"),
    ]
    return f'<g stroke-width=".6">{"".join(lines)}</g>{"".join(words)}'


def _spread(x: float, y: float, u: float, v: float) -> list[str]:
    """A line with a slanting stroke at either end."""
    return [_line(x, y, u, v), *(_line(a - 2.5, b + 2.5, a + 2.5, b - 2.5) for a, b in ((x, y), (u, v)))]


def _bar(sheet: _Sheet) -> str:
    """A bar of a round number of mm, in the corner that no view needs."""
    room = max(40.0, sheet.wide - sheet.side[0] - _RIGHT)
    length = _round_down(room / sheet.scale)
    right, level = sheet.wide - _RIGHT, _TOP + 16
    left = right - length * sheet.scale
    ends = "".join(_line(x, level - 3, x, level + 3) for x in (left, right))
    return (
        f'<g stroke-width="1.1">{_line(left, level, right, level)}{ends}</g>'
        f"{_words(right, level - 6, _mm(length), 'end')}"
    )


def _round_down(length: float) -> float:
    """The largest of 1, 2, 5, 10, 20 … that is no more."""
    power = 10.0 ** floor(log10(length))
    return next(power * times for times in (5, 2, 1) if power * times <= length * (1 + 1e-9))


def _line(x: float, y: float, u: float, v: float) -> str:
    return f'<path d="M{x:.1f} {y:.1f}L{u:.1f} {v:.1f}"/>'


def _words(x: float, y: float, words: str, anchor: str) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{_TEXT}" font-family="system-ui, sans-serif" fill="currentColor" '
        f'stroke="none" text-anchor="{anchor}">{words}</text>'
    )


def _mm(length: float) -> str:
    return f"{length:.1f}".removesuffix(".0") + " mm"
