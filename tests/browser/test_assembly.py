"""A device drawn and touched: every part is a thumb wide, and leads to what it is made of; a finger is replaced."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
import sqlalchemy as sa

from service.access.permissions import Role
from service.assembly.tables import PartRow, PlaceRow
from service.devices.rules import Use
from service.devices.tables import DeviceRow
from service.parts.rules import Digit, PartKind, VersionState
from service.parts.tables import VersionRow
from service.recipients.rules import CaseState, Side
from service.recipients.tables import RecipientRow
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser

TOUCHED = 44
NARROW = {"width": 320, "height": 720}


def a_hand(served: Served, side: Side) -> tuple[str, int]:
    """The case and the device of somebody in the demo who wears a whole hand on a side, its index finger in place."""
    made_from_released = sa.select(VersionRow.id).where(VersionRow.state == VersionState.RELEASED)
    with_a_palm = (
        sa.select(PlaceRow.device_id)
        .join(PartRow, PartRow.id == PlaceRow.part_id)
        .where(PlaceRow.until.is_(None), PartRow.kind == PartKind.PALM)
    )
    statement = (
        sa.select(RecipientRow.case_number, DeviceRow.id)
        .join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
        .join(PlaceRow, PlaceRow.device_id == DeviceRow.id)
        .join(PartRow, PartRow.id == PlaceRow.part_id)
        .where(DeviceRow.use == Use.IN_USE, DeviceRow.side == side, DeviceRow.id.in_(with_a_palm))
        .where(RecipientRow.state == CaseState.ACTIVE)
        .where(PlaceRow.until.is_(None), PartRow.digit == Digit.INDEX, PartRow.version_id.in_(made_from_released))
        .order_by(DeviceRow.id)
    )
    with served.db.reading() as session:
        row = session.execute(statement.limit(1)).one()
        return row.case_number, row.id


@pytest.mark.parametrize("side", list(Side))
def test_every_part_of_a_drawing_is_a_thumb_wide_and_leads_to_what_it_is_made_of(
    served: Served, chromium: Any, cookies: Callable[[Role], Any], side: Side
) -> None:
    number, device = a_hand(served, side)
    context = chromium.new_context(storage_state=cookies(Role.COORDINATOR), viewport=NARROW, reduced_motion="reduce")
    page = context.new_page()
    page.goto(f"{served.address}/recipients/{number}/devices/{device}")
    areas = page.locator(".device a")
    assert areas.count() >= 5
    for each in areas.all():
        box = each.bounding_box()
        assert box is not None
        assert box["width"] >= TOUCHED, each.get_attribute("aria-label")
        assert box["height"] >= TOUCHED, each.get_attribute("aria-label")
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= NARROW["width"]
        anchor = (each.get_attribute("href") or "").removeprefix("#")
        assert page.locator(f"li[id='{anchor}']").count() == 1, anchor
    thumb, palm = (page.get_by_role("link", name=name, exact=True).first.bounding_box() for name in ("thumb", "palm"))
    assert thumb is not None
    assert palm is not None
    assert (thumb["x"] > palm["x"]) == (side is Side.LEFT), "a hand seen from its back"
    page.locator(".device a[aria-label^='index finger']").click()
    assert page.url.endswith("#part-index")
    there = page.locator("#part-index").bounding_box()
    assert there is not None
    assert 0 <= there["y"] < NARROW["height"]
    context.close()


@pytest.mark.parametrize("script", [True, False])
def test_a_finger_is_replaced_and_the_day_before_still_has_the_old_one(
    served: Served, chromium: Any, cookies: Callable[[Role], Any], script: bool
) -> None:
    number, device = a_hand(served, Side.LEFT if script else Side.RIGHT)
    context = chromium.new_context(
        storage_state=cookies(Role.COORDINATOR), viewport={"width": 360, "height": 740}, java_script_enabled=script
    )
    page = context.new_page()
    page.goto(f"{served.address}/recipients/{number}/devices/{device}")
    page.locator("#part-index").get_by_role("link", name="Finger, index").click()
    page.get_by_role("link", name="Replace it").click()
    page.get_by_label("Why did it come off?").select_option("broken")
    page.get_by_label("Note on what came off").fill("It snapped in the test.")
    page.get_by_role("button", name="Record the replacement").click()
    recorded, asked = page.get_by_text("The replacement is recorded."), page.get_by_text("Is this right?")
    recorded.or_(asked).wait_for()
    if asked.count():
        page.get_by_role("button", name="It is right").click()
    recorded.wait_for()
    page.goto(f"{served.address}/recipients/{number}")
    page.get_by_text("Finger, index came off: broken").first.wait_for()
    assert page.get_by_text("It snapped in the test.").count() >= 1
    page.goto(f"{served.address}/recipients/{number}/parts")
    page.get_by_role("link", name="The change before").click()
    assert "had" in page.locator(".lead").inner_text()
    context.close()
