"""Versions, lots and parts in place for tests; versions are written straight into the tables: no file is needed."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.geometry.answers import Format, LengthUnit
from service.parts.rules import PartKind, ShapeMethod, VersionState
from service.parts.tables import DesignRow, ShapeRow, VersionRow
from service.recipients.rules import Side
from service.recipients.tables import RecipientRow
from tests.conftest import Register
from tests.devices.worn import device, made, opened

CONE = [(float(level), 150.0 + 0.5 * level) for level in range(0, 121, 10)]
"""An inside profile: 150 mm of girth at the landmark, half a millimetre more for every millimetre farther."""


def design(register: Register, name: str, kind: PartKind, **more: Any) -> int:
    """A design; returns its id."""
    with register.db.writing() as session:
        row = DesignRow(
            name=name, search_name=name.casefold(), kind=kind, created_at=register.clock(), created_by="a test", **more
        )
        session.add(row)
        session.flush()
        return row.id


def version(register: Register, **given: Any) -> int:
    """A version, released unless said otherwise, of `design_id` or `shape_id`; returns its id."""
    now = register.clock()
    with register.db.writing() as session:
        of = [VersionRow.design_id == given.get("design_id"), VersionRow.shape_id == given.get("shape_id")]
        same = [each for each in of if given.get(str(each.left.key)) is not None]
        count = session.scalar(sa.select(sa.func.count()).select_from(VersionRow).where(*same)) or 0
        values: dict[str, Any] = {
            "number": count + 1,
            "what_changed": "thicker hinge",
            "materials": ["PETG"],
            "print_settings": {},
            "features": [],
            "checks": [],
            "axis": {},
            "inside": None,
            "file_sha256": "0" * 64,
            "file_name": "part.stl",
            "file_bytes": 84,
            "format": Format.STL,
            "unit": LengthUnit.MILLIMETRE,
            "picture_sha256": "0" * 64,
            "geometry": figures(),
            "created_at": now,
            "created_by": "a test",
            "state": VersionState.RELEASED,
            "released_at": now,
            "released_by": "a test",
            "released_why": "tried on the bench",
            **given,
        }
        row = VersionRow(**values)
        session.add(row)
        session.flush()
        return row.id


def figures(profile: list[tuple[float, float]] | None = None) -> dict[str, Any]:
    """What was read from a file."""
    return {
        "watertight": True,
        "bodies": 1,
        "triangles": 12,
        "bounding_box_mm": [10, 10, 10],
        "volume_mm3": 1000.0,
        "area_mm2": 600.0,
        "thinnest_wall_mm": 2.0,
        "inside_profile": [{"level_mm": level, "girth_mm": girth} for level, girth in profile or []],
        "small_part": {"fits": False, "sure": True, "why": "", "fits_up_to_scale": 0.5, "not_from_scale": 0.51},
        "doubts": [],
    }


def finger(register: Register, **more: Any) -> int:
    """A released version of a new design of a finger for any digit; returns its id."""
    interface = more.pop("interface", "A")
    made_for = {name: more.pop(name) for name in ("digit", "side") if name in more}
    with register.db.reading() as session:
        count = session.scalar(sa.select(sa.func.count()).select_from(DesignRow)) or 0
    of = design(register, f"Long finger {count}", PartKind.FINGER, interface=interface, **made_for)
    return version(register, design_id=of, interface=interface, **more)


def palm(register: Register, **more: Any) -> int:
    """A released version of a design of a palm; returns its id."""
    of = design(register, "Broad palm", PartKind.PALM, interface="A")
    return version(register, design_id=of, **{"interface": "A", **more})


def withdraw(register: Register, version_id: int, successor: int | None = None) -> None:
    """Withdraw a version as of now."""
    with register.db.writing() as session:
        row = session.get_one(VersionRow, version_id)
        row.state, row.withdrawn_at, row.withdrawn_why = VersionState.WITHDRAWN, register.clock(), "breaks at the hinge"
        row.withdrawn_by, row.successor_id = "a test", successor


def socket_version(register: Register, number: str, side: Side = Side.LEFT, **more: Any) -> int:
    """A released version of a socket made from a cast of somebody's limb; returns its id."""
    with register.db.writing() as session:
        recipient = session.scalars(sa.select(RecipientRow.id).where(RecipientRow.case_number == number)).one()
        shape = ShapeRow(
            recipient_id=recipient,
            side=side,
            taken_on=date(2026, 1, 5),
            taken_by="a clinician",
            method=ShapeMethod.CAST,
            file_sha256="0" * 64,
            file_name="cast.stl",
            file_bytes=84,
            format=Format.STL,
            unit=LengthUnit.MILLIMETRE,
            picture_sha256="0" * 64,
            geometry=figures(),
            created_at=register.clock(),
            created_by="a test",
        )
        session.add(shape)
        session.flush()
        shape_id = shape.id
    inside = {"dimension": "residual_limb_girth", "level_at_origin_mm": 0.0, "liner_mm": 0.0}
    given = {"inside": inside, "geometry": figures(CONE), "materials": ["PETG"], **more}
    return version(register, shape_id=shape_id, **given)


def lot(client: TestClient, **changes: Any) -> int:
    """A spool of black PETG that came in, or what is asked for; returns its id."""
    spool = {"kind": "filament", "what": "PETG 1.75 mm", "material": "PETG", "colour": "black"}
    body = {**spool, "maker": "Northern Reels", "batch": "24-118", "received_on": "2025-01-10", "latex_free": True}
    return int(made(client, "lots", {**body, **changes})["id"])


def motors(client: TestClient, **changes: Any) -> int:
    """A batch of bought motors; returns its id."""
    bought = {"kind": "hardware", "what": "geared motor 6 V", "material": "", "colour": "", "maker": "Spindle & Son"}
    return lot(client, **{**bought, **changes})


def a_device(client: TestClient, **changes: Any) -> tuple[str, int]:
    """A case with a device: its number, and the device's id."""
    number = opened(client, **changes)
    side = changes["limbs"][0]["side"] if "limbs" in changes else "left"
    return number, device(client, number, side=side)


def put(client: TestClient, number: str, in_device: int, **body: Any) -> dict[str, Any]:
    """Record a part that was put in place; returns the answer."""
    return made(client, f"recipients/{number}/devices/{in_device}/parts", body)


def act(client: TestClient, number: str, place: int, what: str, /, **body: Any) -> Any:
    """Do something to a part in place; returns the response."""
    return client.post(f"/api/v1/recipients/{number}/parts-in-place/{place}/{what}", json=body)


def assemblies(client: TestClient, number: str, on: str | None = None) -> dict[int, list[dict[str, Any]]]:
    """The parts in place of each device on a day."""
    answer = client.get(f"/api/v1/recipients/{number}/parts-in-place", params={"on": on} if on else {})
    assert answer.status_code == 200, answer.text
    return {each["device"]: each["parts"] for each in answer.json()["items"]}


def worn(client: TestClient, what: str, **params: Any) -> dict[str, Any]:
    """Who wears something of `lots/3` or `part-versions/7`."""
    answer = client.get(f"/api/v1/{what}/worn", params=params)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found
