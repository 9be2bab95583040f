"""What somebody with one thumb sees when the register asks whether a size is right."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
import sqlalchemy as sa

from service.access.permissions import Role
from service.devices.rules import Use
from service.devices.tables import DeviceRow, LimitRow, SocketRow
from service.recipients.rules import CaseState
from service.recipients.tables import RecipientRow
from tests.browser.conftest import Served

pytestmark = pytest.mark.browser

IS_SEEN = """yes => {
  const seen = yes.getBoundingClientRect(), bar = document.querySelector(".actions").getBoundingClientRect();
  return seen.top > 0 && seen.bottom <= bar.top;
}"""
PHONE = {"width": 360, "height": 740}


def test_the_question_and_its_yes_are_seen_first_and_the_doubt_leads_to_its_field(
    served: Served, chromium: Any, cookies: Callable[[Role], Any]
) -> None:
    girth = sa.select(RecipientRow.case_number, DeviceRow.id).join(DeviceRow, DeviceRow.recipient_id == RecipientRow.id)
    in_place = girth.join(SocketRow, SocketRow.device_id == DeviceRow.id).join(LimitRow)
    worn = in_place.where(DeviceRow.use == Use.IN_USE, SocketRow.ended_on.is_(None), LimitRow.level_mm.is_not(None))
    with served.db.reading() as session:
        number, device = session.execute(worn.where(RecipientRow.state == CaseState.ACTIVE).limit(1)).one()
    context = chromium.new_context(storage_state=cookies(Role.COORDINATOR), viewport=PHONE)
    page = context.new_page()
    page.goto(f"{served.address}/recipients/{number}/devices/{device}/sockets/new")
    page.get_by_label("Why did it come off?").select_option("outgrown")
    page.locator('[name="limits.0.tight_at_mm"]').fill("61")
    page.get_by_role("button", name="Record the socket").click()

    sure = page.get_by_role("button", name="It is right")
    sure.wait_for()
    page.wait_for_function("document.activeElement.matches('.ask')")
    # It scrolls there; where it comes to rest neither is the answer scrolled past nor below the fold or under the bar.
    page.wait_for_function(IS_SEEN, arg=sure.element_handle())

    page.locator(".ask a").first.click()
    assert page.evaluate("document.querySelector(':target').name") == "limits.0.tight_at_mm"
    context.close()
