"""A design's way from its file to the printer, and a socket's from the scan of a limb, as people click it."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pytest
import sqlalchemy as sa
import trimesh

from service.access.permissions import Role
from service.recipients.rules import CaseState
from service.recipients.tables import LimbRow, RecipientRow
from tests.browser.conftest import PATIENCE_MS, Served
from tests.geometry import solids
from tests.geometry.files import stl
from tests.parts.made import open_rod, socket

pytestmark = pytest.mark.browser


def as_file(name: str, content: bytes) -> dict[str, Any]:
    """A file as somebody chooses it."""
    return {"name": name, "mimeType": "model/stl", "buffer": content}


def opened(chromium: Any, cookies: Callable[[Role], Any], *, script: bool) -> Any:
    """A page of a coordinator's browser on a phone."""
    context = chromium.new_context(
        storage_state=cookies(Role.COORDINATOR), java_script_enabled=script, viewport={"width": 360, "height": 740}
    )
    page = context.new_page()
    page.set_default_timeout(6 * PATIENCE_MS)
    return page


@pytest.mark.parametrize("script", [True, False])
def test_a_design_goes_from_its_file_to_the_printer(
    served: Served, chromium: Any, cookies: Callable[[Role], Any], script: bool
) -> None:
    page, name = opened(chromium, cookies, script=script), f"Ring finger, {'quick' if script else 'plain'}"
    page.goto(f"{served.address}/parts")
    page.get_by_role("link", name="Record a design").click()
    page.get_by_label("What do you call it?").fill(name)
    page.get_by_label("What is it?").select_option("finger")
    page.get_by_label("Which digit is it for?").select_option("ring")
    page.get_by_role("button", name="Record the design").click()

    page.get_by_role("link", name="Add version 1").click()
    page.get_by_label("The file", exact=True).set_input_files(as_file("finger.stl", stl(solids.rod(9, 70))[:400]))
    page.get_by_label("One unit in the file is").select_option("mm")
    page.get_by_label("Materials").fill("PETG")
    page.get_by_role("button", name="Read the file and record it").click()
    page.get_by_text("Nothing was recorded yet").wait_for()
    page.get_by_text("choose the file once more").wait_for()
    assert page.get_by_label("Materials").input_value() == "PETG"

    page.get_by_label("The file", exact=True).set_input_files(as_file("rod.stl", open_rod()))
    page.get_by_role("button", name="Read the file and record it").click()
    page.get_by_text("Is this right?").wait_for()
    page.get_by_text("was read and is still here").wait_for()
    page.get_by_label("The file", exact=True).set_input_files(as_file("finger.stl", stl(solids.rod(9, 70))))
    page.get_by_text("Name one").click()
    page.get_by_label("What is it?").first.select_option("pin_bore")
    page.get_by_label("Size in the file").first.fill("3,2")
    page.get_by_label("Size of what goes in").first.fill("3")
    page.get_by_role("button", name="Read the file and record it").click()
    page.get_by_text("is recorded as a draft").wait_for()
    assert (
        page.get_by_role("img", name=f"{name}, version 1, drawn from three sides").evaluate(
            "each => each.decode().then(() => each.naturalWidth)"
        )
        > 0
    )

    page.get_by_role("link", name="Release it").click()
    page.get_by_label("What was tried, and how did it go?").fill("Pulled six times with 40 N.")
    page.get_by_role("button", name="Release version 1").click()
    page.get_by_text("it may be printed from now on").wait_for()

    page.get_by_label("Across, times the file").fill("0,9")
    page.get_by_label("Along, times the file").fill("1.1")
    page.get_by_role("button", name="Show what comes out").click()
    page.get_by_text("drill or ream it to 3.00 mm").wait_for()
    page.get_by_label("Across, times the file").fill("0.9")
    with page.expect_download() as taken:
        page.get_by_role("button", name="Take the file").click()
    content = taken.value.path().read_bytes()
    assert trimesh.load(io.BytesIO(content), file_type="3mf", force="mesh").extents == pytest.approx(
        [16.2, 16.2, 77], rel=1e-5
    )
    page.context.close()


def test_a_socket_is_made_from_the_scan_of_a_limb(
    served: Served, chromium: Any, cookies: Callable[[Role], Any]
) -> None:
    with served.db.reading() as session:
        limbs = sa.select(RecipientRow.case_number, LimbRow.side).join(LimbRow, LimbRow.recipient_id == RecipientRow.id)
        number, side = session.execute(limbs.where(RecipientRow.state == CaseState.ACTIVE).limit(1)).one()
    page = opened(chromium, cookies, script=True)
    page.goto(f"{served.address}/recipients/{number}")
    page.get_by_role("link", name="Casts and scans").click()
    page.get_by_role("link", name="Record a cast or a scan").click()
    scan = stl(solids.without(solids.rod(29.5, 140), 3))
    page.get_by_label("The file", exact=True).set_input_files(as_file("arm.stl", scan))
    page.get_by_label("One unit in the file is").select_option("mm")
    page.get_by_label(side.capitalize(), exact=True).check()
    page.get_by_label("It was scanned").check()
    page.get_by_role("button", name="Read the file and record it").click()
    page.get_by_role("button", name="It is right").click()
    page.get_by_text("The shape is recorded.").wait_for()

    page.get_by_role("link", name="Add the socket made from it").click()
    page.get_by_label("The file", exact=True).set_input_files(as_file("socket.stl", socket()))
    page.get_by_label("One unit in the file is").select_option("mm")
    page.get_by_label("Liner").fill("2")
    page.get_by_role("button", name="Read the file and record it").click()
    page.get_by_text("is recorded as a draft").wait_for()
    page.get_by_text("The inner girth at").click()
    assert page.get_by_role("group", name="Inside profile").get_by_role("row").count() > 10
    version = page.url
    page.get_by_role("link", name="Beside the limb, level by level").click()
    assert page.get_by_role("heading", level=1).count() == 1
    page.goto(f"{served.address}/parts")
    assert page.locator(f'a[href="{version.partition("?")[0].removeprefix(served.address)}"]').count() == 0
    page.context.close()
