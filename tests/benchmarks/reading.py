# ruff: noqa: T201 - a script prints
"""What it takes to have a file read by a child: python -m tests.benchmarks.reading

Seconds on the wall as whoever sent the file waits them, the median of a few; memory is the child's peak. The first file
waits for everything to be loaded.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterator
from functools import partial

import trimesh
from structlog.testing import capture_logs

from service.geometry.answers import Axis, Format, LengthUnit
from service.geometry.mesh import Mesh
from service.geometry.reading import format_of, read, scaled
from service.geometry.writing import write_three_mf
from service.kit.errors import TooMany
from service.kit.unfit import Unfit
from tests.geometry.hostile import HOSTILE

MM = LengthUnit.MILLIMETRE
SUBDIVISIONS = (2, 4, 6, 7)  # 320, 5,120, 81,920 and 327,680 triangles


def took(work: Callable[[], object]) -> float:
    """Seconds until it is done, refused or not."""
    started = time.perf_counter()
    try:
        work()
    except (Unfit, TooMany) as refusal:
        print("   ", refusal)
    return time.perf_counter() - started


def spheres() -> Iterator[tuple[int, bytes, bytes]]:
    """Triangles, the STL and the 3MF of a sphere."""
    for each in SUBDIVISIONS:
        sphere = trimesh.creation.icosphere(each, radius=60)
        yield len(sphere.faces), sphere.export(file_type="stl"), write_three_mf(Mesh(sphere.vertices, sphere.faces), {})


def main() -> None:
    """Print it."""
    axis = Axis()
    for triangles, stl, three_mf in spheres():
        jobs: dict[str, Callable[[], object]] = {
            "read STL": partial(read, stl, Format.STL, MM, axis, None),
            "read 3MF": partial(read, three_mf, Format.THREE_MF, None, axis, None),
            "scale STL": partial(scaled, stl, Format.STL, MM, axis, 1.1, 1.2, {}),
            "scale 3MF": partial(scaled, three_mf, Format.THREE_MF, None, axis, 1.1, 1.2, {}),
        }
        for name, job in jobs.items():
            with capture_logs() as logged:
                first = took(job)
                again = statistics.median(took(job) for _ in range(3 if triangles > 10_000 else 9))
            peak = max(entry["max_rss_mb"] for entry in logged)
            print(f"{triangles:9,} triangles  {name:9}  first {first:6.3f} s  then {again:6.3f} s  {peak:5} MB")
    with capture_logs() as logged:
        waits = {name: _hostile(name, maker()) for name, maker in HOSTILE.items()}
    slowest = max(waits, key=lambda name: waits[name])
    peak = max(entry["max_rss_mb"] for entry in logged)
    print(f"{len(waits)} bad files: median {statistics.median(waits.values()):.3f} s, ", end="")
    print(f"longest {waits[slowest]:.3f} s ({slowest}), peak {peak} MB")


def _hostile(name: str, content: bytes) -> float:
    started = time.perf_counter()
    try:
        file_format = format_of(name, content)
        read(content, file_format, MM if file_format is Format.STL else None, Axis(), None)
    except Unfit:
        pass
    return time.perf_counter() - started


if __name__ == "__main__":
    main()
