# ruff: noqa: T201 - a script prints
"""How long it takes to measure and draw a mesh, and how near the two scales of the small-parts verdict come.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.geometry [NAME]

The aims: 100,000 triangles measured in under 10 s, 5,000 in under 1.5 s; walls of the former in under 5 s; a verdict on
small parts in under 2 s, with scales within 1 per cent. Processor time is what counts; the wall clock beside it says
how busy the machine was.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import perf_counter, process_time

import numpy as np

from service.geometry.answers import Axis, Inside
from service.geometry.bodies import bodies, nesting
from service.geometry.drawing import three_views
from service.geometry.grid import Grid
from service.geometry.measure import measure
from service.geometry.mesh import Mesh
from service.geometry.profile import inside_profile
from service.geometry.small_parts import small_part
from service.geometry.surface import surface
from service.geometry.walls import thinnest_wall
from tests.geometry.solids import box, cone, enlarged, finer, joined, moved, rod, socket, soup, sphere, turned_at_random


def scan(bands: int) -> Mesh:
    """A rough egg, as a scanner gives."""
    egg = enlarged(sphere(30, bands), 1, 0.8, 1.6)
    noise = np.random.default_rng(0).normal(size=(len(egg.vertices), 1))
    return Mesh(egg.vertices * (1 + 0.002 * noise), egg.faces)


MESHES: dict[str, Callable[[], Mesh]] = {
    "finger": lambda: enlarged(sphere(8, 32), 1, 0.9, 4),
    "pin": lambda: rod(1.5, 30),
    "ball": lambda: sphere(15, 48),
    "wedge": lambda: cone(20, 30),
    "plate of 60": lambda: joined(*(moved(box(9 + n / 7, 12, 31), 40.0 * n) for n in range(60))),
    "palm 3k": lambda: finer(box(80, 25, 90), 4),
    "socket 5k": lambda: socket(32, 22, 120, 2.4, sides=64, rows=18),
    "egg 5k": lambda: scan(36),
    "socket 100k": lambda: socket(32, 22, 120, 2.4, sides=200, rows=124),
    "egg 100k": lambda: scan(159),
    "socket 1M": lambda: socket(32, 22, 120, 2.4, sides=700, rows=355),
}


@contextmanager
def timed(spent: dict[str, tuple[float, float]], what: str) -> Iterator[None]:
    """Note how long something takes: computing, and on the wall clock."""
    busy, wall = process_time(), perf_counter()
    yield
    spent[what] = (process_time() - busy, perf_counter() - wall)


def run(mesh: Mesh) -> tuple[dict[str, tuple[float, float]], str]:
    """Each step by itself, then all of them; and what the verdict was."""
    spent: dict[str, tuple[float, float]] = {}
    with timed(spent, "order"):
        nested = nesting(surface(mesh))
        grid = Grid(nested.surface.corners, nested.surface.normals, nested.surface.areas)
    with timed(spent, "bodies"):
        made = bodies(nested, grid)
    with timed(spent, "walls"):
        thinnest_wall(made, grid)
    with timed(spent, "profile"):
        inside_profile(nested.surface, Axis(), Inside())
    with timed(spent, "small part"):
        said = small_part(made.points())
    with timed(spent, "measured"):
        measure(mesh, Axis(), Inside())
    with timed(spent, "drawn"):
        drawing = three_views(mesh, Axis())
    gap = 100 * (said.not_from_scale / said.fits_up_to_scale - 1)
    return spent, f"{gap:5.2f} per cent{len(drawing) / 1000:7.1f} kB"


def main(wanted: str) -> None:
    steps = ("order", "bodies", "walls", "profile", "small part", "measured", "drawn")
    print(f"{'s of computing':16}{'triangles':>10}" + "".join(f"{step:>12}" for step in steps))
    for name, make in MESHES.items():
        if wanted in name:
            mesh = soup(turned_at_random(make(), 1) if "socket" not in name else make())
            spent, said = run(mesh)
            print(f"{name:16}{len(mesh.faces):10}" + "".join(f"{spent[step][0]:12.2f}" for step in steps) + f"  {said}")
            print(f"{'  on the wall':26}" + "".join(f"{spent[step][1]:12.2f}" for step in steps), flush=True)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "")
