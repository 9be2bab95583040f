"""The demo holds what is worn: a library, a shelf, and every part in its place over a couple of years."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date, timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from seed_data.cast import read_cast
from seed_data.turns import turns
from seed_data.wearing import worn
from service.access.permissions import Role
from service.assembly.tables import PartLotRow, PartRow, PlaceRow, SocketPartRow
from service.devices.rules import EndReason
from service.devices.tables import DeviceRow, LimitRow, SocketRow
from service.geometry.answers import Format, Geometry
from service.geometry.printing import Solid
from service.lots.rules import LotKind, LotState
from service.lots.tables import LotRow
from service.parts.rules import Digit, PartKind, ShapeMethod, VersionState
from service.parts.tables import DesignRow, ShapeRow, VersionRow
from service.recipients.rules import Side
from service.recipients.tables import RecipientRow
from tests.demo.conftest import everything, program

DENSITY = {"PLA": 1.24, "PETG": 1.27, "TPU 95A": 1.21}  # g/cm3, as usually printed on a spool
AGREES_WITHIN_MM = 3.0


@pytest.fixture(scope="module")
def today(shown) -> date:
    day: date = shown.clock().date()
    return day


@pytest.fixture(scope="module")
def coordinator(shown):
    return program(shown, Role.COORDINATOR)


def rows(shown, query):
    with shown.db.reading() as session:
        return session.execute(query).all()


def counted(shown, column, *where):
    return Counter(row[0] for row in rows(shown, sa.select(column).where(*where)))


def stays(shown):
    """Every stay of a printed part: (design's name, version's number, since, until, why it came off)."""
    query = (
        sa.select(DesignRow.name, VersionRow.number, PlaceRow.since, PlaceRow.until, PlaceRow.came_off)
        .join(VersionRow, VersionRow.design_id == DesignRow.id)
        .join(PartRow, PartRow.version_id == VersionRow.id)
        .join(PlaceRow, PlaceRow.part_id == PartRow.id)
        .where(PlaceRow.came_off.is_distinct_from(EndReason.MISTAKE))
    )
    return rows(shown, query)


def called(shown, given_name):
    return rows(shown, sa.select(RecipientRow.case_number).where(RecipientRow.given_name == given_name))[0][0]


def test_the_library_has_designs_in_every_state_and_both_interfaces(shown):
    states = counted(shown, VersionRow.state, VersionRow.design_id.is_not(None))
    assert states == {VersionState.RELEASED: 26, VersionState.DRAFT: 1, VersionState.WITHDRAWN: 1}
    a_design = counted(shown, VersionRow.design_id, VersionRow.design_id.is_not(None))
    assert set(a_design.values()) == {2, 3}
    assert set(counted(shown, DesignRow.interface)) >= {"A", "B"}
    assert set(counted(shown, DesignRow.side)) == {Side.LEFT, Side.RIGHT, None}
    assert set(counted(shown, VersionRow.format)) == set(Format)


def test_every_file_that_may_be_printed_is_closed(shown):
    for geometry, state in rows(shown, sa.select(VersionRow.geometry, VersionRow.state)):
        assert geometry["watertight"] or state is VersionState.DRAFT


def test_a_withdrawn_version_has_a_successor_and_is_still_worn_by_some(shown, coordinator):
    ((version, successor),) = rows(
        shown, sa.select(VersionRow.id, VersionRow.successor_id).where(VersionRow.state == VersionState.WITHDRAWN)
    )
    assert coordinator.get(f"/api/v1/part-versions/{successor}").json()["state"] == "released"
    wearing = coordinator.get(f"/api/v1/part-versions/{version}/worn").json()
    assert wearing["limbs"] >= 3
    assert wearing["elsewhere"] == 0
    changed = [stay for stay in stays(shown) if stay.came_off is EndReason.NOTICE and stay.name == "Fairlead finger"]
    assert len(changed) >= 3


def test_the_shelf_has_lots_of_both_kinds_in_every_state_at_every_site(shown, coordinator):
    assert set(counted(shown, LotRow.state)) == set(LotState)
    assert set(counted(shown, LotRow.kind)) == set(LotKind)
    assert len(everything(coordinator, "/api/v1/lots")) > 40
    assert len(counted(shown, LotRow.site_id)) == 3


@pytest.mark.parametrize("state", [LotState.HELD, LotState.WITHDRAWN])
def test_what_was_made_of_a_stopped_lot_is_still_worn_by_some(shown, coordinator, state):
    ((lot,),) = rows(shown, sa.select(LotRow.id).where(LotRow.state == state))
    assert coordinator.get(f"/api/v1/lots/{lot}/worn").json()["limbs"] >= 2


def test_no_spool_gave_more_plastic_than_it_held(shown):
    printed = sa.select(
        PartLotRow.lot_id,
        LotRow.material,
        LotRow.quantity,
        PartRow.scale_across,
        PartRow.scale_along,
        VersionRow.geometry,
        VersionRow.print_settings,
    ).select_from(PartLotRow)
    printed = printed.join(LotRow, LotRow.id == PartLotRow.lot_id).join(PartRow, PartRow.id == PartLotRow.part_id)
    used: defaultdict[int, float] = defaultdict(float)
    held: dict[int, float] = {}
    for row in rows(shown, printed.join(VersionRow, VersionRow.id == PartRow.version_id)):
        found, settings = Geometry.model_validate(row.geometry), row.print_settings
        solid = Solid(found.volume_mm3 or 0.0, found.area_mm2, found.bounding_box_mm)
        plastic = solid.scaled(row.scale_across, row.scale_along).printed(
            settings["walls"] * settings["nozzle_mm"], settings["infill"]
        )
        used[row.lot_id] += plastic.mass_g(DENSITY[row.material])
        held[row.lot_id] = row.quantity
    assert len(used) > 20
    assert {lot: (round(grams), held[lot]) for lot, grams in used.items() if grams > held[lot]} == {}


def test_nothing_was_made_of_a_lot_before_it_came_or_once_it_was_stopped(shown):
    put_in = sa.select(PlaceRow.part_id, sa.func.min(PlaceRow.since).label("since")).group_by(PlaceRow.part_id)
    first = put_in.subquery()  # a part that moves is not made anew
    query = sa.select(first.c.since, LotRow.received_on, LotRow.state, LotRow.state_since)
    query = query.select_from(first).join(PartLotRow, PartLotRow.part_id == first.c.part_id)
    for since, received, state, state_since in rows(shown, query.join(LotRow, LotRow.id == PartLotRow.lot_id)):
        assert received <= since
        assert state is LotState.IN_USE or since <= state_since


def test_most_who_wear_a_device_wear_parts_that_are_known(shown):
    with_parts = sa.select(sa.func.count(DeviceRow.recipient_id.distinct())).select_from(DeviceRow).join(PlaceRow)
    with_device = sa.select(sa.func.count(DeviceRow.recipient_id.distinct()))
    ((known,),), ((all_of_them,),) = rows(shown, with_parts), rows(shown, with_device)
    assert all_of_them * 0.9 <= known < all_of_them


def test_nearly_every_kind_of_part_and_every_digit_is_worn(shown):
    missing = set(PartKind) - set(counted(shown, PartRow.kind))
    assert missing == {PartKind.FOREARM, PartKind.LINER, PartKind.OTHER}
    assert set(counted(shown, PartRow.digit)) == {*Digit, None}


def test_fingers_break_most_and_parts_come_off_for_every_reason(shown):
    broken = sa.select(PartRow.kind).join(PlaceRow).where(PlaceRow.came_off == EndReason.BROKEN)
    (most, _), *_ = Counter(kind for (kind,) in rows(shown, broken)).most_common()
    assert most is PartKind.FINGER
    assert set(counted(shown, PlaceRow.came_off)) == {*EndReason, None}


def test_nobody_had_to_look_twice_at_a_part(shown):
    doubted = [said for (said,) in rows(shown, sa.select(PlaceRow.doubts)) if said]
    assert doubted == []


def test_nobody_allergic_to_latex_ever_wore_a_lot_that_holds_it(shown):
    query = (
        sa.select(RecipientRow.latex_allergy)
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .join(PlaceRow, PlaceRow.device_id == DeviceRow.id)
        .join(PartLotRow, PartLotRow.part_id == PlaceRow.part_id)
        .join(LotRow, LotRow.id == PartLotRow.lot_id)
        .where(LotRow.latex_free.is_(False))
    )
    found = {allergic for (allergic,) in rows(shown, query)}
    assert found
    assert True not in found


def test_a_motor_is_found_by_its_lot_on_the_right_limb_on_each_day(shown, coordinator, today):
    ((lot,),) = rows(
        shown,
        sa.select(PartLotRow.lot_id).join(PartRow, PartRow.id == PartLotRow.part_id).where(PartRow.serial == "0417"),
    )
    aoife, gwilym = called(shown, "Aoife"), called(shown, "Gwilym")
    told: dict[str, Any] = {each.name: turns(each) for each in read_cast()}
    lent, back = (
        next(event["ago"] for event in told[name] if event["what"] == "part_moved")
        for name in ("Aoife Brannigan", "Gwilym Prosser")
    )
    came = max(event["ago"] for event in told["Aoife Brannigan"])
    devices = set()
    for ago in (came + 1, came, lent + 1, lent, lent - 1, back + 1, back, back - 1, 0):
        day = today - timedelta(days=ago)
        found = coordinator.get(f"/api/v1/lots/{lot}/worn", params={"on": day.isoformat()}).json()["items"]
        where = {(each["case_number"], each["device"]) for each in found if each["serial"] == "0417"}
        expected = set() if ago > came else {gwilym} if lent >= ago > back else {aoife}
        assert {case for case, _ in where} == expected
        devices |= where
    assert len(devices) == 3


def test_a_part_recorded_twice_is_struck_through_and_worn_once(shown, coordinator):
    struck = sa.select(DeviceRow.id, RecipientRow.case_number).join(PlaceRow, PlaceRow.device_id == DeviceRow.id)
    struck = struck.join(RecipientRow, RecipientRow.id == DeviceRow.recipient_id)
    ((device, case),) = rows(shown, struck.where(PlaceRow.came_off == EndReason.MISTAKE))
    (now,) = [
        each
        for each in coordinator.get(f"/api/v1/recipients/{case}/parts-in-place").json()["items"]
        if each["device"] == device
    ]
    assert [part["kind"] for part in now["parts"]].count("strap") == 1


def test_a_dozen_limbs_have_shapes_and_sockets_made_from_them(shown, coordinator):
    assert set(counted(shown, ShapeRow.method)) == set(ShapeMethod)
    states = counted(shown, VersionRow.state, VersionRow.shape_id.is_not(None))
    assert states == {VersionState.RELEASED: 14, VersionState.DRAFT: 1}
    listed = {design["kind"] for design in everything(coordinator, "/api/v1/part-designs")}
    assert "socket" not in listed


def test_sockets_printed_larger_wear_the_file_of_the_one_before(shown):
    query = sa.select(PartRow.version_id, PartRow.scale_across, PartRow.scale_along).join(SocketPartRow)
    printed = defaultdict(set)
    for version, *scales in rows(shown, query):
        printed[version].add(tuple(scales))
    rescaled = [scales for scales in printed.values() if len(scales) == 2]
    assert len(rescaled) >= 4
    assert all((1.0, 1.0) in scales and max(scales) > (1.02, 1.02) for scales in rescaled)


def test_what_the_register_reads_in_a_socket_agrees_with_the_story(shown, today):
    query = (
        sa.select(RecipientRow.given_name, SocketRow.fitted_on, LimitRow.level_mm, LimitRow.tight_at_mm)
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .join(SocketRow, SocketRow.device_id == DeviceRow.id)
        .join(SocketPartRow, SocketPartRow.socket_id == SocketRow.id)
        .join(LimitRow, LimitRow.socket_id == SocketRow.id)
    )
    found = {tuple(row[:3]): row.tight_at_mm for row in rows(shown, query)}
    sockets: list[tuple[str, Any]] = [(each.given, worn(each)) for each in read_cast() if each.tags & {"cast", "scan"}]
    told = {
        (given, today - timedelta(days=event["ago"]), limit["level_mm"]): limit["tight_at_mm"]
        for given, events in sockets
        for event in events
        if event["what"] == "socket"
        for limit in event["limits"]
    }
    both = found.keys() & told.keys()
    assert len(both) == len(found) > 35
    assert max(abs(found[each] - told[each]) for each in both) < AGREES_WITHIN_MM
