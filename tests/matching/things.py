"""Volunteers and requests to match, written as rows: what the rooms below do with them is theirs to test."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa
from httpx2 import Response

from service.access.permissions import Role
from service.accounts.tables import TownRow
from service.geometry.answers import Format, LengthUnit
from service.parts.rules import PartKind, VersionState
from service.parts.tables import DesignRow, VersionRow
from service.recipients.rules import ConsentKind, Purpose, Reach, Responsibility, Sex, case_number, fold
from service.recipients.tables import ConsentRow, ContactRow, RecipientRow
from service.requests.rules import Asker, RequestKind, WhatHappened
from service.requests.tables import RequestPartRow, RequestRow
from service.volunteers.rules import Skill, VettingKind
from service.volunteers.tables import AbsenceRow, PrinterRow, StockRow, TrainingRow, VettingRow, VolunteerRow
from tests.conftest import Register

BED = (220.0, 220.0, 250.0)


def town(register: Register, name: str, latitude: float, longitude: float = 0.0) -> int:
    with register.db.writing() as session:
        row = TownRow(name=name, latitude=latitude, longitude=longitude)
        session.add(row)
        session.flush()
        return row.id


def volunteer(
    register: Register,
    name: str,
    *,
    site: str = "harbour",
    town_id: int | None = None,
    bed: tuple[float, float, float] | None = BED,
    materials: tuple[str, ...] = ("PETG",),
    skills: tuple[Skill, ...] = (Skill.PRINT,),
    colours: tuple[str, ...] = (),
    hours: float = 7.0,
    at_once: int = 2,
    travels: float = 50.0,
    vetted_until: date | None = None,
    away: tuple[date, date] | None = None,
    account: int | None = None,
) -> int:
    today = register.clock().date()
    with register.db.writing() as session:
        row = VolunteerRow(
            site_id=register.sites[site],
            account_id=account,
            town_id=town_id,
            name=name,
            languages=["en"],
            hours_a_week=hours,
            jobs_at_once=at_once,
            travels_km=travels,
            since=today,
            left_on=None,
            looked_at=register.clock(),
        )
        session.add(row)
        session.flush()
        of = {"volunteer_id": row.id}
        if bed is not None:
            room = dict(zip(("width_mm", "depth_mm", "height_mm"), bed, strict=True))
            session.add(PrinterRow(**of, name=f"{name}'s printer", **room, materials=list(materials)))
        for skill in skills:
            session.add(TrainingRow(**of, skill=skill, trained_on=today, review_due_on=None, recorded_by="test"))
        for colour in colours:
            session.add(StockRow(**of, lot_id=None, material="PETG", colour=colour, grams=500, gone_on=None))
        if vetted_until is not None:
            checked = {"checked_on": today - timedelta(days=900), "review_due_on": vetted_until, "ended_on": None}
            recorded = {"recorded_by": "test", "recorded_at": register.clock()}
            session.add(VettingRow(**of, kind=VettingKind.HOME_VISITS, **checked, **recorded))
        if away is not None:
            session.add(AbsenceRow(**of, since=away[0], until=away[1]))
        return row.id


def recipient(
    register: Register,
    given_name: str = "Ines",
    *,
    site: str = "harbour",
    town_id: int | None = None,
    first_name_agreed: bool = True,
    address: str = "7 Kiln Lane",
) -> int:
    now = register.clock()
    with register.db.writing() as session:
        count = session.scalar(sa.select(sa.func.count()).select_from(RecipientRow)) or 0
        row = RecipientRow(
            case_number=case_number(1000 + count),
            site_id=register.sites[site],
            given_name=given_name,
            family_name="Quill",
            search_name=fold(f"{given_name} Quill"),
            birth_date=date(2018, 5, 1),
            sex=Sex.FEMALE,
            town_id=town_id,
            state_since=now.date(),
            latex_allergy=None,
            prescribed_on=None,
            created_at=now,
            changed_at=now,
        )
        session.add(row)
        session.flush()
        session.add(
            ContactRow(
                recipient_id=row.id,
                name="Ana Quill",
                responsibility=Responsibility.YES,
                reach_by=Reach.MAIL,
                address=address,
                ended_on=None,
            )
        )
        if first_name_agreed:
            session.add(
                ConsentRow(
                    recipient_id=row.id,
                    kind=ConsentKind.CONSENT,
                    purpose=Purpose.FIRST_NAME,
                    given_by="Ana Quill",
                    given_on=now.date(),
                    withdrawn_on=None,
                )
            )
        return row.id


def version(register: Register, box: tuple[float, float, float] = (60.0, 20.0, 20.0)) -> int:
    now = register.clock()
    with register.db.writing() as session:
        count = session.scalar(sa.select(sa.func.count()).select_from(DesignRow)) or 0
        design = DesignRow(
            name=f"Finger {count}",
            search_name=f"finger {count}",
            kind=PartKind.FINGER,
            digit=None,
            side=None,
            created_at=now,
            created_by="test",
        )
        session.add(design)
        session.flush()
        x, y, z = box
        geometry = {
            "watertight": True,
            "bodies": 1,
            "triangles": 12,
            "bounding_box_mm": list(box),
            "volume_mm3": x * y * z / 2,
            "area_mm2": 2 * (x * y + y * z + x * z),
            "thinnest_wall_mm": 1.2,
            "inside_profile": [],
            "small_part": {"fits": False, "sure": True, "why": "", "fits_up_to_scale": 0.1, "not_from_scale": 0.2},
            "doubts": [],
        }
        row = VersionRow(
            design_id=design.id,
            number=1,
            what_changed="",
            materials=["PETG"],
            print_settings={"nozzle_mm": 0.4, "layer_mm": 0.2, "walls": 3, "infill": 0.2},
            features=[],
            checks=[],
            axis={"origin_mm": [0, 0, 0], "direction": [0, 0, 1]},
            inside=None,
            file_sha256="0" * 64,
            file_name="finger.stl",
            file_bytes=100,
            format=Format.STL,
            unit=LengthUnit.MILLIMETRE,
            picture_sha256="0" * 64,
            geometry=geometry,
            created_at=now,
            created_by="test",
            state=VersionState.RELEASED,
        )
        session.add(row)
        session.flush()
        return row.id


def request(
    register: Register,
    recipient_id: int,
    *,
    days: int = 14,
    kind: RequestKind = RequestKind.REPLACEMENT,
    rank: int | None = 3,
    colour: str = "",
    version_id: int | None = None,
    scale: float = 1.0,
) -> int:
    now = register.clock()
    with register.db.writing() as session:
        count = session.scalar(sa.select(sa.func.count()).select_from(RequestRow)) or 0
        row = RequestRow(
            recipient_id=recipient_id,
            device_id=None,
            kind=kind,
            need=f"need {count}",
            asker=Asker.FAMILY,
            asked_by="Ana Quill",
            asked_at=now,
            words="The finger snapped when she fell.",
            colour=colour,
            usable=True,
            needed_by=now.date() + timedelta(days=days),
            tight_on=None,
            promised_on=None,
            rank=rank,
            rank_by=None,
            settled_at=None,
            settled_by=None,
        )
        session.add(row)
        session.flush()
        if kind is RequestKind.REPLACEMENT:
            session.add(
                RequestPartRow(
                    request_id=row.id,
                    place_id=None,
                    kind=PartKind.FINGER,
                    what="index finger",
                    digit=None,
                    side=None,
                    happened=WhatHappened.BROKEN,
                    version_id=version_id,
                    scale_across=scale,
                    scale_along=scale,
                )
            )
        return row.id


def settle(register: Register, request_id: int) -> None:
    """As the room of requests does when a family needs it no more."""
    with register.db.writing() as session:
        closed = {"state": "closed", "settled_at": register.clock(), "settled_by": "test"}
        session.execute(sa.update(RequestRow).where(RequestRow.id == request_id).values(**closed))


def coordinator(register: Register, site: str = "harbour") -> Any:
    return register.api(Role.COORDINATOR, sites=(site,))


def signed_in(register: Register, *roles: Role, name: str, sites: tuple[str, ...] = ("harbour",)) -> tuple[int, Any]:
    """An account and its client."""
    account = register.account(*roles, sites=sites, name=name)
    return account, register.api(account=account)


def planned(client: Any) -> dict[str, Any]:
    answer: Response = client.post("/api/v1/plans", json={})
    assert answer.status_code == 201, answer.text
    return dict(answer.json())


def offered(client: Any, plan: dict[str, Any] | None = None, **command: Any) -> dict[str, Any]:
    plan = plan or planned(client)
    answer: Response = client.post(f"/api/v1/plans/{plan['id']}/accept", json=command)
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def tapped(browser: Any, link: str, answer: str, **typed: str) -> Any:
    page = browser.get(f"/offers/{link}")
    assert page.status_code == 200, page.text
    token = page.text.split('name="form_token" value="')[1].split('"')[0]
    return browser.post(f"/offers/{link}/{answer}", data={"form_token": token, **typed})


def standing(register: Register) -> list[tuple[int, str, str]]:
    """Every offer: request, volunteer's name, state."""
    items = coordinator(register).get("/api/v1/offers?limit=200").json()["items"]
    return [(each["request"], each["volunteer_name"], each["state"]) for each in reversed(items)]
