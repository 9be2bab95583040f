"""Invented designs, versions and shapes, recorded over HTTP with files made by code. Lengths are mm."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from fastapi.testclient import TestClient

from service.geometry.mesh import Mesh
from tests.devices.worn import made
from tests.geometry import solids
from tests.geometry.files import stl

INSIDE = {"dimension": "residual_limb_girth", "level_at_origin_mm": 0, "liner_mm": 2}
SCANNED = {"side": "left", "taken_on": "2026-02-20", "method": "scan", "unit": "mm"}
SAID = {"unit": "mm", "materials": ["PETG"]}
PIN = {"kind": "pin_bore", "nominal_mm": 3.2, "holds_mm": 3, "clearance_mm": 0.1}
RADIUS, LENGTH = 9.0, 70.0  # of the finger below
WIDE, NARROW, DEEP, WALL = 34.0, 28.0, 120.0, 3.0  # of the socket below


@cache
def finger(length: float = LENGTH) -> bytes:
    """A closed rod: a finger, for what the register cares."""
    return stl(solids.rod(RADIUS, length))


@cache
def socket(wall: float = WALL) -> bytes:
    """A closed cup, wide at the brim."""
    return stl(solids.socket(WIDE, NARROW, DEEP, wall))


@cache
def open_rod() -> bytes:
    """A surface with a hole: two triangles of the rod are missing."""
    return stl(solids.without(solids.rod(RADIUS, LENGTH), 0, 1))


@cache
def limb(length: float = 150.0) -> bytes:
    """The scan of a limb, closed."""
    return stl(solids.rod(30.0, length))


def file_of(mesh: Mesh) -> bytes:
    """A mesh as a file."""
    return stl(mesh)


def design(client: TestClient, **changes: Any) -> int:
    """Record a design; returns its id."""
    said = {"name": "Finger, index", "kind": "finger", "digit": "index", "interface": "tongue 8", **changes}
    found: int = made(client, "part-designs", said)["id"]
    return found


def post_file(
    client: TestClient,
    path: str,
    said: dict[str, Any],
    content: bytes,
    *,
    name: str = "part.stl",
    headers: dict[str, str] | None = None,
) -> Any:
    """Send a file and what is said of it, just so."""
    data = {"data": json.dumps(said)}
    return client.post(f"/api/v1/{path}", files={"file": (name, content)}, data=data, headers=headers)


def send(
    client: TestClient, path: str, said: dict[str, Any] | None = None, content: bytes | None = None, **more: Any
) -> Any:
    """Send a version, a finger unless given; `name` and `headers` may be given too."""
    return post_file(client, path, {**SAID, **(said or {})}, finger() if content is None else content, **more)


def taken(client: TestClient, path: str, *args: Any, **more: Any) -> dict[str, Any]:
    """Send a file that is taken; returns the answer."""
    answer = send(client, path, *args, **more)
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def version(client: TestClient, of_design: int, *args: Any, **more: Any) -> dict[str, Any]:
    """Add a version to a design."""
    return taken(client, f"part-designs/{of_design}/versions", *args, **more)


def released(client: TestClient, of_design: int, *args: Any, **more: Any) -> int:
    """Add a version and release it; returns its id."""
    found: int = version(client, of_design, *args, **more)["id"]
    assert move(client, found, "release").status_code == 200
    return found


def move(client: TestClient, version_id: int, act: str, **said: Any) -> Any:
    """Release or withdraw a version."""
    return client.post(f"/api/v1/part-versions/{version_id}/{act}", json={"why": "Tried on the bench.", **said})


def shape(client: TestClient, number: str, content: bytes | None = None, **said: Any) -> dict[str, Any]:
    """Record the scan of a limb."""
    answer = post_file(
        client, f"recipients/{number}/shapes", {**SCANNED, **said}, limb() if content is None else content
    )
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def socket_version(
    client: TestClient, number: str, of_shape: int, content: bytes | None = None, **said: Any
) -> dict[str, Any]:
    """Add a socket made from a shape."""
    path = f"recipients/{number}/shapes/{of_shape}/versions"
    return taken(client, path, {"inside": INSIDE, **said}, socket() if content is None else content)


def drafts(client: Any, number: str) -> dict[str, int]:
    """A design with a draft, and a shape in a case with the draft of a socket, by the names in addresses."""
    of_design = design(client, name="Little finger, short", digit="little")
    (limb_there, *_) = client.get(f"/api/v1/recipients/{number}").json()["limbs"]
    of_shape = shape(client, number, side=limb_there["side"])["id"]
    return {
        "design": of_design,
        "version": version(client, of_design, {"features": [PIN]})["id"],
        "shape": of_shape,
        "socket_version": socket_version(client, number, of_shape)["id"],
    }
