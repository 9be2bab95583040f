"""A socket printed from a file whose inside is a cone: every figure can be worked out by hand."""

from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient

from tests.assembly.things import figures, socket_version
from tests.conftest import Register
from tests.devices.worn import made

FEATURES: list[dict[str, Any]] = [
    {"kind": "pin_bore", "nominal_mm": 3.0, "holds_mm": 3.0, "clearance_mm": 0.2, "axis": "across", "note": "wrist"},
    {"kind": "coupling", "nominal_mm": 20.0, "holds_mm": None, "clearance_mm": 0.0, "axis": "along", "note": ""},
]
SETTINGS = {"nozzle_mm": 0.4, "layer_mm": 0.2, "walls": 3, "infill": 0.2, "orientation": "", "supports": ""}


def inside(level_mm: float) -> float:
    """The inner girth of the file at a level, mm: 190 at the landmark, 0.4 less for every mm farther."""
    return 190 - 0.4 * level_mm


def cone(step: int = 5, end: int = 120) -> list[tuple[float, float]]:
    """The file's inside profile."""
    return [(float(level), inside(level)) for level in range(0, end + 1, step)]


def cone_version(register: Register, number: str, **more: Any) -> int:
    """A released version of a cone socket, of a shape of its own; returns its id."""
    geometry = {
        **figures(more.pop("profile", cone())),
        "bounding_box_mm": [66.0, 66.0, 130.0],
        "volume_mm3": 60_000.0,
        "area_mm2": 50_000.0,
        "thinnest_wall_mm": more.pop("wall", 2.0),
    }
    inside_of = {"dimension": "residual_limb_girth", "level_at_origin_mm": 0.0, "liner_mm": more.pop("liner", 0.0)}
    given = {"inside": inside_of, "geometry": geometry, "features": FEATURES, "print_settings": SETTINGS, **more}
    return socket_version(register, number, **given)


def printed(client: TestClient, number: str, device: int, version: int, **body: Any) -> dict[str, Any]:
    """Record a socket printed from a version; returns it."""
    given = {"fitted_on": "2026-01-12", "version": version, "confirmed": True, **body}
    return made(client, f"recipients/{number}/devices/{device}/sockets/printed", given)


def measured(client: TestClient, number: str, girths: dict[float, float], **more: float) -> None:
    """Girths of the left limb by level, and other dimensions of it, read yesterday."""
    place = {"side": "left", "unit": "mm"}
    readings: list[dict[str, Any]] = [
        {"dimension": "residual_limb_girth", "level_mm": level, "values": [girth], **place}
        for level, girth in girths.items()
    ]
    readings += [{"dimension": name, "values": [value], **place} for name, value in more.items()]
    body = {"taken_on": "2026-03-01", "method": "tape", "readings": readings, "confirmed": True}
    made(client, f"recipients/{number}/measurements", body)


def limb(scale: float, *levels: float) -> dict[float, float]:
    """Girths of a limb that is the cone, scaled."""
    return {level: round(scale * inside(level), 1) for level in levels}
