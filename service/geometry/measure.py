"""Everything that is said of a mesh, in figures and sentences. Lengths are mm."""

from __future__ import annotations

from service.geometry.answers import Axis, Geometry, Inside, LevelGirth
from service.geometry.bodies import bodies, nesting
from service.geometry.grid import Grid
from service.geometry.mesh import Mesh
from service.geometry.profile import inside_profile
from service.geometry.small_parts import small_part
from service.geometry.surface import surface
from service.geometry.walls import thinnest_wall


def measure(mesh: Mesh, axis: Axis, inside: Inside | None) -> Geometry:
    """The figures of a mesh, with a profile only where it is said how its inside lies; Unfit when nothing has an area.

    The same mesh gives the same figures every time.
    """
    nested = nesting(surface(mesh))
    ordered = nested.surface
    grid = Grid(ordered.corners, ordered.normals, ordered.areas)
    made = bodies(nested, grid)
    doubts = [*ordered.doubts, *made.doubts]
    wall = None if grid.crowded else thinnest_wall(made, grid)
    if grid.crowded:
        doubts.append(
            "Its triangles crowd so in places that its walls could not be looked through in the time there is. Make "
            "the mesh coarser there."
        )
    elif wall is None and made.closed:
        doubts.append("No two of its sides face away from each other, so that it has no wall to measure.")
    girths: list[LevelGirth] = []
    if inside is not None:
        profile = inside_profile(ordered, axis, inside)
        girths = profile.girths
        doubts += profile.doubts
    low, high = ordered.vertices.min(axis=0), ordered.vertices.max(axis=0)
    x, y, z = (float(edge) for edge in high - low)
    return Geometry(
        watertight=made.closed,
        bodies=made.count,
        triangles=len(mesh.faces),
        bounding_box_mm=(x, y, z),
        volume_mm3=made.volume,
        area_mm2=float(ordered.areas[made.walls].sum()),
        thinnest_wall_mm=wall,
        inside_profile=girths,
        small_part=small_part(made.points()),
        doubts=doubts,
    )
