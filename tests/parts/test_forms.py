"""The forms of versions: begun as the one before ended, refused with what was typed, and with the file kept."""

from __future__ import annotations

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.geometry import reading
from service.kit.errors import TooMany
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.geometry.solids import rod, without
from tests.parts.forms import FORM, hidden, item, upload
from tests.parts.made import (
    PIN,
    file_of,
    finger,
    move,
    open_rod,
    version,
)


def test_the_form_of_a_version_begins_as_the_one_before_ended(
    coordinator: TestClient, browser: TestClient, index: int
) -> None:
    settings = {"nozzle_mm": 0.6, "walls": 5, "infill": 0.35, "orientation": "tip up"}
    inside = {"dimension": "forearm_girth", "level_at_origin_mm": -12.5, "liner_mm": 3}
    said = {
        "print_settings": settings,
        "features": [{**PIN, "note": "hinge", "position_mm": [1, 2, 3]}],
        "inside": inside,
    }
    first = version(coordinator, index, {**said, "licence": "CC0", "checks": ["heat"], "confirmed": True})
    page = browser.get(f"/parts/{index}/versions/new").text
    for expected in ('value="0.6"', 'value="35"', 'value="tip up"', 'value="hinge"', 'value="1, 2, 3"', 'value="CC0"'):
        assert expected in page, expected
    assert re.search(r'name="checks-heat" value="heat" checked', page)
    assert not re.search(r'name="checks-label" value="label" checked', page)
    assert "It begins as version 1 ended" in page
    fields = dict(re.findall(r'<input[^>]* name="([^"]+)"[^>]* value="([^"]*)"', page))
    fields |= {"features.0.kind": "pin_bore", "features.0.axis": "across", "inside.dimension": "forearm_girth"}
    fields = {name: value for name, value in fields.items() if not name.startswith("checks-")} | {"checks-heat": "heat"}
    fields |= {"unit": "mm", "what_changed": "Longer."}
    asked = upload(browser, f"/parts/{index}/versions/new", fields, finger(80)).text  # a rod has no inside
    kept = {name: hidden(asked, name) for name in ("kept_name", "kept_proof")}
    added = upload(browser, f"/parts/{index}/versions/new", {**fields, **kept, "confirmed": "true"})
    assert added.status_code == 303, added.text
    second = item(coordinator, f"part-versions/{int(added.headers['location'].partition('?')[0].rpartition('/')[2])}")
    for name in ("print_settings", "features", "inside", "axis", "licence", "interface", "checks"):
        assert second[name] == first[name], name


def test_a_refused_file_brings_the_form_back_as_it_was_typed(
    coordinator: TestClient, browser: TestClient, index: int
) -> None:
    path = f"/parts/{index}/versions/new"
    fields = {**FORM, "why": "It jammed.", "features.2.kind": "coupling", "features.2.nominal_mm": "12"}
    for content, name, said in (
        (None, "", "an STL or a 3MF"),
        (b"\x89PNG\r\n\x1a\n", "part.stl", "a picture"),
        (finger()[:200], "part.stl", "file"),
        (finger(), "part.step", "STL and 3MF"),
    ):
        refused = upload(browser, path, fields, content, name)
        assert refused.status_code == 422
        assert 'href="#file"' in refused.text
        assert said in refused.text
        assert "choose the file once more" in refused.text
        for typed in ("It jammed.", 'value="PETG, TPU 95A"', 'value="0,6"', 'value="12"'):
            assert typed in refused.text, typed
        assert re.search(r'<option value="coupling" selected', refused.text)
    assert item(coordinator, f"part-designs/{index}/versions")["items"] == []


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"unit": ""}, "unit"),
        ({"print_settings.infill": "two"}, "print_settings.infill"),
        ({"print_settings.nozzle_mm": "thin"}, "print_settings.nozzle_mm"),
        ({"features.4.nominal_mm": "3"}, "features.4.kind"),
        ({"features.1.kind": "pin_bore", "features.1.nominal_mm": "wide"}, "features.1.nominal_mm"),
        (
            {"features.1.kind": "pin_bore", "features.1.nominal_mm": "3", "features.1.position_mm": "here"},
            "features.1.position_mm",
        ),
        ({"axis.direction": "0, 1"}, "axis.direction"),
        ({"inside.dimension": "residual_limb_girth", "inside.liner_mm": "90"}, "inside.liner_mm"),
    ],
)
def test_each_problem_stands_at_its_own_field(
    coordinator: TestClient, browser: TestClient, index: int, fields: dict[str, str], field: str
) -> None:
    refused = upload(browser, f"/parts/{index}/versions/new", {**FORM, **fields}, finger())
    assert refused.status_code == 422
    assert f'href="#{field}"' in refused.text
    assert f'id="{field}"' in refused.text
    assert item(coordinator, f"part-designs/{index}/versions")["items"] == []


def test_a_doubted_file_is_kept_so_that_it_need_not_be_chosen_again(
    register: Register, coordinator: TestClient, browser: TestClient, index: int
) -> None:
    path = f"/parts/{index}/versions/new"
    asked = upload(browser, path, FORM, open_rod(), "rod.stl")
    assert asked.status_code == 422
    assert "Is this right?" in asked.text
    assert "“rod.stl” was read and is still here" in asked.text
    kept = {name: hidden(asked.text, name) for name in ("kept_name", "kept_proof")}
    forged = {**kept, "kept_name": "other.stl"}
    assert "an STL or a 3MF" in upload(browser, path, {**FORM, **forged, "confirmed": "true"}).text
    open_account(register, Role.COORDINATOR, email="other@example.org")
    stranger = signed_in(register, "other@example.org")
    assert upload(stranger, path, {**FORM, **kept, "confirmed": "true"}).status_code == 422
    another = upload(browser, path, {**FORM, **kept, "confirmed": "true"}, file_of(without(rod(8, 40), 0)), "other.stl")
    assert another.status_code == 422
    assert "“other.stl” was read and is still here" in another.text
    confirmed = upload(browser, path, {**FORM, **kept, "confirmed": "true"})
    assert confirmed.status_code == 303, confirmed.text
    (line,) = item(coordinator, f"part-designs/{index}/versions")["items"]
    page = browser.get(f"/parts/versions/{line['id']}").text
    assert "What is odd about the file" in page
    assert "it cannot be released as it is" in page
    assert "Close the mesh" in browser.get(f"/parts/versions/{line['id']}/release").text


def test_a_busy_register_loses_nothing_of_a_form(
    browser: TestClient, index: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(*_: Any) -> None:
        raise TooMany("Two files are being read just now. Nothing was kept; try again in a moment.", retry_after=5)

    monkeypatch.setattr(reading, "read", busy)
    refused = upload(browser, f"/parts/{index}/versions/new", {**FORM, "why": "It jammed."}, finger())
    assert refused.status_code == 422
    assert "try again in a moment" in refused.text
    assert "It jammed." in refused.text


def test_a_draft_is_corrected_through_its_form(coordinator: TestClient, browser: TestClient, index: int) -> None:
    made = version(coordinator, index, {"why": "Because.", "features": [PIN], "licence": "CC0"})["id"]
    path = f"/parts/versions/{made}/change"
    page = browser.get(path).text
    assert 'value="3.2"' in page
    assert 'type="file"' not in page
    fields = {"unit": "mm", "what_changed": "All of it.", "why": "", "materials": "PLA", "checks-heat": "heat"}
    assert post(browser, path, {**fields, "what_changed": ""}).status_code == 422
    changed = post(browser, path, fields)
    assert changed.headers["location"] == f"/parts/versions/{made}?done=version-changed"
    found = item(coordinator, f"part-versions/{made}")
    assert (found["what_changed"], found["why"], found["licence"], found["features"]) == ("All of it.", "", "", [])
    assert move(coordinator, made, "release").status_code == 200
    assert browser.get(path).status_code == 409
