"""Three views: true to scale, nothing hidden shown, small, and nothing in them but lines and words."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import pi
from xml.etree.ElementTree import Element, fromstring

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from service.geometry.answers import Axis
from service.geometry.drawing import MOST_BYTES, three_views
from service.geometry.lines import area, follow, rims, smoothed, thinned
from service.geometry.mesh import Mesh
from service.geometry.surface import surface
from service.geometry.views import Scene, View, look, rounded_normals, smooth_pieces
from tests.geometry.solids import (
    bent_tube,
    box,
    cone,
    enlarged,
    finer,
    inside_out,
    joined,
    moved,
    ring,
    rod,
    socket,
    soup,
    sphere,
    tube,
    turned,
    turned_at_random,
    wall_of,
)

SVG = "{http://www.w3.org/2000/svg}"
ALLOWED = {
    "svg": {"viewBox", "width", "height", "role", "fill", "stroke", "stroke-linejoin", "stroke-linecap"},
    "title": set(),
    "g": {"transform", "fill", "fill-opacity", "stroke", "stroke-width", "stroke-dasharray"},
    "path": {"d", "fill-rule", "stroke-width"},
    "text": {"x", "y", "font-size", "font-family", "fill", "stroke", "text-anchor"},
}


def noisy() -> Mesh:
    ball = sphere(20, 100)
    return Mesh(ball.vertices * (1 + 0.01 * np.random.default_rng(0).normal(size=(len(ball.vertices), 1))), ball.faces)


MESHES: dict[str, Callable[[], Mesh]] = {
    "a finger": lambda: turned(enlarged(sphere(8, 20), 1, 1, 4), Rotation.from_euler("x", 20, degrees=True)),
    "a palm": lambda: joined(box(80, 25, 90), moved(box(12, 12, 40), -15, 5, 30)),
    "a socket": lambda: socket(32, 22, 120, 2.4),
    "a bent pipe": lambda: bent_tube(100, 30, 27, 60),
    "a strap": lambda: box(200, 6, 1),
    "an open cone": lambda: wall_of([ring(30, 0, 48), ring(10, 50, 48)]),
    "a single triangle": lambda: Mesh(np.array([(0.0, 0, 0), (30, 0, 0), (0, 0, 40)]), np.array([[0, 1, 2]])),
    "a rough scan": noisy,
    "a crowd": lambda: joined(*(moved(sphere(2, 6), 6.0 * (n % 20), 0, 6.0 * (n // 20)) for n in range(300))),
}


def drawn(mesh: Mesh, axis: Axis | None = None) -> Element:
    return fromstring(three_views(mesh, axis or Axis()))


def seen(mesh: Mesh, towards: tuple[float, float, float] = (0, -1, 0)) -> View:
    """The mesh, 200 units wide at most, from the side that a direction points to; up is z, or y from above."""
    near = np.array(towards, dtype=float)
    up = np.array([0.0, 1.0, 0.0]) if towards[2] else np.array([0.0, 0.0, 1.0])
    turn = np.column_stack([np.cross(up, near), up, near])
    ordered = surface(mesh)
    pieces = smooth_pieces(ordered)
    corners = ordered.corners @ turn
    corners -= corners.min(axis=(0, 1))
    wide, high, _ = corners.max(axis=(0, 1)) * (scale := 200 / corners.max())
    rounded = rounded_normals(ordered, pieces) @ turn
    scene = Scene(corners * scale, ordered.normals @ turn, rounded, pieces)
    return look(scene, wide, high, both_sides=not ordered.closed.all())


@pytest.mark.parametrize("name", MESHES)
def test_nothing_but_lines_and_words_in_the_ink_of_the_page(name: str) -> None:
    text = three_views(soup(MESHES[name]()), Axis())
    assert len(text) <= MOST_BYTES
    root = fromstring(text)
    for element in root.iter():
        tag = element.tag.removeprefix(SVG)
        assert tag in ALLOWED
        assert set(element.keys()) <= ALLOWED[tag]
        for name_ in ("fill", "stroke"):
            assert element.get(name_) in {None, "none", "currentColor"}
    assert b"url" not in text
    assert root.get("role") == "img"
    assert root[0].tag == f"{SVG}title"


def test_the_title_and_the_words_say_how_large_it_is() -> None:
    root = drawn(moved(box(40, 25.44, 110), 7, 7, 7))
    assert root[0].text == "Three views: 40 mm across, 25.4 mm deep and 110 mm along its axis"
    words = [each.text for each in root.iter(f"{SVG}text")]
    assert {"40 mm", "25.4 mm", "110 mm", "front", "right side", "along the axis"} < set(words)


def test_the_same_mesh_gives_the_same_drawing() -> None:
    assert three_views(socket(30, 20, 60, 2), Axis()) == three_views(socket(30, 20, 60, 2), Axis())


def numbers(text: str) -> list[float]:
    return [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", text)]


def outline_size(view: Element) -> tuple[float, float]:
    """How wide and high the last path of a view is, in units."""
    points = []
    for part in [*view.iter(f"{SVG}path")][-1].get("d", "").split("M")[1:]:
        start, _, steps = part.partition("l")
        points.append(np.cumsum(np.reshape([*numbers(start), *numbers(steps)], (-1, 2)), axis=0))
    every = np.concatenate(points) / 10
    wide, high = np.ptp(every, axis=0)
    return float(wide), float(high)


@pytest.mark.parametrize("mesh", [box(40, 25, 110), socket(30, 20, 60, 2), tube(8, 6, 4), box(300, 200, 10)])
def test_views_and_bar_have_one_scale(mesh: Mesh) -> None:
    root = drawn(mesh)
    views = [each for each in root if (each.get("transform") or "").startswith("translate")]
    x, y, z = np.ptp(mesh.vertices, axis=0)
    bar = root[-2]
    left, level, right, end = numbers(bar[0].get("d", ""))
    assert level == end
    length = float((root[-1].text or "").removesuffix(" mm"))
    assert length in {a * 10.0**b for a in (1, 2, 5) for b in range(-1, 3)}
    scale = (right - left) / length
    for view, (wide, high) in zip(views, ((x, z), (y, z), (x, y)), strict=True):
        assert outline_size(view) == pytest.approx((wide * scale, high * scale), abs=1.3)


def test_up_is_the_parts_own_axis() -> None:
    standing = three_views(cone(10, 40), Axis())
    lying = turned(cone(10, 40), Rotation.from_euler("y", 90, degrees=True))
    assert fromstring(three_views(lying, Axis(direction=(1, 0, 0))))[0].text == fromstring(standing)[0].text


def test_what_lies_behind_is_not_shown() -> None:
    front, behind = box(40, 10, 40), moved(box(10, 10, 10), 15, 20, 15)
    alone, both = seen(front), seen(joined(front, behind))
    assert not any(line.any() for line in alone.inner)
    assert not any(line.any() for line in both.inner)
    before = seen(joined(front, moved(box(10, 10, 10), 15, -20, 15)))
    assert sum(int(line.sum()) for line in before.inner) == pytest.approx(4 * 10 * 5 * 2.5, rel=0.05)


def test_a_hexagonal_bar_shows_two_edges_in_front_and_a_round_one_none() -> None:
    assert len(follow(*seen(rod(10, 40, 6), (0, -1, 0)).inner)) == 2
    assert follow(*seen(rod(10, 40, 64)).inner) == []


def test_a_step_hides_part_of_what_is_behind_it() -> None:
    # From above, the smaller of two discs on each other is a ring of line; from below it is not there.
    steps = joined(rod(20, 10, 64), moved(rod(10, 10, 64), 0, 0, 10.001))
    above, below = seen(steps, (0, 0, 1)), seen(steps, (0, 0, -1))
    (line,) = follow(*above.inner)
    around = np.linalg.norm(np.diff(smoothed(line), axis=0), axis=1).sum() / 2.5 / 5
    assert around == pytest.approx(2 * pi * 10, rel=0.05)
    assert follow(*below.inner) == []


def test_a_ball_is_shaded_from_light_to_dark() -> None:
    ball = seen(sphere(10, 40))
    shares = np.bincount(ball.tone[ball.piece >= 0]) / (ball.piece >= 0).sum()
    assert len(shares) == 3
    assert shares.min() > 0.1
    rows, columns = np.nonzero((ball.tone == 0) & (ball.piece >= 0))
    assert rows.mean() > ball.tone.shape[0] / 2  # light comes from the upper left
    assert columns.mean() < ball.tone.shape[1] / 2


def test_a_mesh_inside_out_is_drawn_as_if_it_were_right() -> None:
    cup = socket(30, 20, 60, 2, sides=48, rows=4)
    assert three_views(inside_out(cup), Axis()) == three_views(cup, Axis())


def test_of_an_open_surface_the_back_is_seen_too() -> None:
    sheet = Mesh(np.array([(0.0, 0, 0), (30, 0, 0), (0, 0, 40)]), np.array([[0, 1, 2]]))
    for towards in ((0, -1, 0), (0, 1, 0)):
        assert (seen(sheet, towards).piece >= 0).sum() == pytest.approx(0.5 * 150 * 200 * 2.5**2, rel=0.02)


@pytest.mark.parametrize("seed", range(4))
def test_the_outline_goes_around_the_shadow(seed: int) -> None:
    egg = turned_at_random(finer(box(10, 20, 30), 2), seed)
    view = seen(egg)
    (line,) = rims(view.piece >= 0)
    assert area(line) == (view.piece >= 0).sum()
    assert area(smoothed(line)) == pytest.approx(area(line), rel=0.01)


def test_a_ring_of_pixels_has_two_rims() -> None:
    inside = np.zeros((20, 20), dtype=bool)
    inside[4:16, 4:16] = True
    inside[8:12, 8:12] = False
    assert sorted(area(line) for line in rims(inside)) == [16, 144]


def test_lines_end_where_they_meet() -> None:
    beside, above = np.zeros((6, 5), dtype=bool), np.zeros((5, 6), dtype=bool)
    beside[:, 2] = True  # an upright line, met halfway by a level one
    above[2, 3:] = True
    lines = follow(beside, above)
    assert sorted(len(line) for line in lines) == [4, 4, 4]
    assert sum((line == (3, 3)).all(axis=1).any() for line in lines) == 3


@settings(max_examples=50, deadline=None, derandomize=True)
@given(seed=st.integers(0, 2**32 - 1), count=st.integers(2, 80), within=st.floats(0.1, 5))
def test_thinning_stays_near_the_line(seed: int, count: int, within: float) -> None:
    rng = np.random.default_rng(seed)
    line = np.cumsum(rng.normal(size=(count, 2)), axis=0)
    kept = thinned(line, within)
    assert (kept[[0, -1]] == line[[0, -1]]).all()
    starts, ways = kept[:-1], np.diff(kept, axis=0)
    for point in line:
        share = np.clip(((point - starts) * ways).sum(axis=1) / np.maximum((ways**2).sum(axis=1), 1e-300), 0, 1)
        assert np.linalg.norm(starts + share[:, None] * ways - point, axis=1).min() <= within + 1e-9


def test_smoothing_takes_the_steps_from_a_slanting_line() -> None:
    stairs = np.array([(step, step // 2) for step in range(40)], dtype=float)
    off = smoothed(stairs)[2:-2]
    assert np.abs(off[:, 1] - (off[:, 0] - 0.5) / 2).max() < 0.13
