"""The pages of parts as a browser uses them: from an empty library to what may be printed, and withdrawn again."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import opened
from tests.parts.forms import FORM, hidden, item, upload
from tests.parts.made import (
    PIN,
    design,
    finger,
    limb,
    released,
    shape,
    socket,
    socket_version,
    version,
)


def test_from_an_empty_library_to_a_version_that_may_be_printed(coordinator: TestClient, browser: TestClient) -> None:
    assert "No part is in the library yet." in browser.get("/parts").text
    made = post(browser, "/parts/new", {"name": "Finger, index", "kind": "finger", "digit": "index", "side": ""})
    page, _, done = made.headers["location"].partition("?")
    assert done == "done=design-recorded"
    assert "nothing to print" in browser.get(made.headers["location"]).text

    feature = {"features.1.kind": "pin_bore", "features.1.nominal_mm": "3,2", "features.1.holds_mm": "3 mm"}
    where = {"features.1.position_mm": "0, 0, 12.5", "axis.origin_mm": "0; 0; 1,5", "axis.direction": "0 0 1"}
    checks = {"checks-heat": "heat", "checks-label": "label"}
    added = upload(browser, f"{page}/versions/new", {**FORM, **feature, **where, **checks}, finger())
    assert added.status_code == 303, added.text
    of_version, _, done = added.headers["location"].partition("?")
    assert done == "done=version-recorded"
    made_as = item(coordinator, f"part-versions/{of_version.rpartition('/')[2]}")
    assert made_as["materials"] == ["PETG", "TPU 95A"]
    assert (made_as["print_settings"]["nozzle_mm"], made_as["print_settings"]["infill"]) == (0.6, 0.15)
    assert made_as["features"] == [
        {**PIN, "clearance_mm": 0, "axis": "across", "position_mm": [0, 0, 12.5], "note": ""},
    ]
    assert made_as["axis"]["origin_mm"] == [0, 0, 1.5]
    assert sorted(made_as["checks"]) == ["heat", "label"]
    draft = browser.get(added.headers["location"]).text
    assert "recorded as a draft" in draft
    assert "This is a draft" in draft
    assert "under 36 months" in draft
    assert "The pin bore of 3.2 mm comes out at 3.20 mm" in draft

    asks = browser.get(f"{of_version}/release").text
    assert "never changes" in asks
    assert post(browser, f"{of_version}/release", {"why": ""}).status_code == 422
    freed = post(browser, f"{of_version}/release", {"why": "Six pulls of 40 N."})
    assert freed.headers["location"] == f"{of_version}?done=version-released"
    shown = browser.get(freed.headers["location"]).text
    assert "It is released" in shown
    assert "Six pulls of 40 N." in shown
    assert f"{of_version}/change" not in shown
    assert "Version 1 is the one to print" in browser.get(page).text
    assert "The only design can be printed." in browser.get("/parts").text


def test_what_comes_out_at_a_scale_is_shown_before_the_file_is_taken(
    coordinator: TestClient, browser: TestClient, index: int
) -> None:
    made = released(coordinator, index, {"features": [PIN]})
    page = browser.get(f"/parts/versions/{made}", params={"scale_across": "0,9", "scale_along": "1.1"}).text
    assert "The pin bore of 3.2 mm comes out at 2.88 mm" in page
    assert "drill or ream it to 3.10 mm" in page
    assert "16.2 by 16.2 by 77.0 mm" in page
    assert 'value="0,9"' in page
    wrong = browser.get(f"/parts/versions/{made}", params={"scale_across": "9"}).text
    assert "This must be 5.0 or less" in wrong
    assert 'id="scale_across-error"' in wrong
    file = browser.get(f"/parts/versions/{made}/file", params={"scale_across": "0.9", "scale_along": "1.1", "case": ""})
    assert file.headers["content-type"] == "model/3mf"
    picture = browser.get(f"/parts/versions/{made}/picture")
    assert picture.headers["content-type"].startswith("image/svg+xml")
    assert browser.get(f"/parts/versions/{made}/original").content == finger()


def test_a_version_is_withdrawn_for_another(coordinator: TestClient, browser: TestClient, index: int) -> None:
    old, new = released(coordinator, index), released(coordinator, index, {"what_changed": "Longer."}, finger(80))
    path = f"/parts/versions/{old}/withdraw"
    assert "Finger, index, version 2" in browser.get(path).text
    assert post(browser, path, {"why": ""}).status_code == 422
    done = post(browser, path, {"why": "The tongue broke.", "successor": str(new)})
    assert done.headers["location"] == f"/parts/versions/{old}?done=version-withdrawn"
    page = browser.get(done.headers["location"]).text
    assert "Nobody prints it any more" in page
    assert "The tongue broke. Print Finger, index, version 2 instead." in page
    assert "formaction" not in page
    assert browser.get(f"/parts/versions/{old}/file").status_code == 409
    last = f"/parts/versions/{new}"
    assert post(browser, f"{last}/withdraw", {"why": "This one too."}).status_code == 303
    assert "Name what is printed instead" in browser.get(last).text
    assert "Nothing else of its kind is released" in browser.get(f"{last}/successor").text
    third = released(coordinator, index, {"what_changed": "Shorter."}, finger(60))
    named = post(browser, f"{last}/successor", {"successor": str(third)})
    assert named.headers["location"] == f"{last}?done=successor-named"
    assert "Print Finger, index, version 3 instead." in browser.get(last).text


def test_a_shape_and_a_socket_made_from_it_through_the_forms(coordinator: TestClient, browser: TestClient) -> None:
    number = opened(coordinator)
    case = f"/recipients/{number}"
    assert "No cast and no scan is on record." in browser.get(f"{case}/shapes").text
    fields = {"unit": "mm", "side": "left", "method": "scan", "taken_on": "2026-02-20", "note": "Held out straight."}
    wrong = upload(browser, f"{case}/shapes/new", {**fields, "taken_on": "2030-01-01"}, limb(), "arm.stl")
    assert wrong.status_code == 422
    assert 'href="#taken_on"' in wrong.text
    kept = {name: hidden(wrong.text, name) for name in ("kept_name", "kept_proof")}
    taken = upload(browser, f"{case}/shapes/new", {**fields, **kept})
    assert taken.status_code == 303, taken.text
    at, _, done = taken.headers["location"].partition("?")
    assert done == "done=shape-recorded"
    page = browser.get(taken.headers["location"]).text
    assert "The shape is recorded." in page
    assert "Held out straight." in page
    assert "arm.stl" in page
    assert browser.get(f"{at}/picture").headers["content-type"].startswith("image/svg+xml")
    assert browser.get(f"{at}/file").content == limb()

    inside = {"inside.dimension": "residual_limb_girth", "inside.level_at_origin_mm": "0", "inside.liner_mm": "2"}
    assert 'value="residual_limb_girth" selected' in browser.get(f"{at}/versions/new").text
    added = upload(browser, f"{at}/versions/new", {**FORM, **inside}, socket())
    assert added.status_code == 303, added.text
    page = browser.get(added.headers["location"]).text
    assert "Left socket of the shape of 20 February 2026, version 1" in page
    assert "What a tape would read inside" in page
    assert f"{case}/socket-versions/" in page
    made = added.headers["location"].partition("?")[0].rpartition("/")[2]
    change = f"{at}/versions/{made}/change"
    assert post(browser, change, {"what_changed": "x", **FORM, **inside, "why": "It rubbed."}).status_code == 303
    assert item(coordinator, f"part-versions/{made}")["why"] == "It rubbed."
    assert "may be printed for Ines" in browser.get(f"/parts/versions/{made}/release").text
    assert "Okafor" not in browser.get("/parts").text
    assert f"/parts/versions/{made}" not in browser.get("/parts").text
    assert f"/parts/versions/{made}" in browser.get(f"{case}/shapes").text


def test_a_shape_is_struck_through_its_form(coordinator: TestClient, browser: TestClient) -> None:
    number = opened(coordinator)
    at = f"/recipients/{number}/shapes/{shape(coordinator, number)['id']}"
    assert post(browser, f"{at}/strike", {"why": ""}).status_code == 422
    struck = post(browser, f"{at}/strike", {"why": "The other arm."})
    assert struck.headers["location"] == f"{at}?done=shape-struck"
    assert "struck through, and nothing more" in browser.get(struck.headers["location"]).text
    assert "The other arm." in browser.get(at).text
    assert browser.get(f"{at}/versions/new").status_code == 409


def test_pages_of_what_is_private_are_not_found_elsewhere(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    of_shape = shape(coordinator, number)["id"]
    private = socket_version(coordinator, number, of_shape)["id"]
    open_account(register, Role.COORDINATOR, email="island@example.org", site="island")
    elsewhere = signed_in(register, "island@example.org")
    for path in (
        *(
            f"/parts/versions/{private}{more}"
            for more in ("", "/picture", "/file", "/original", "/release", "/withdraw")
        ),
        *(f"/recipients/{number}/shapes{more}" for more in ("", "/new", f"/{of_shape}", f"/{of_shape}/picture")),
        *(f"/recipients/{number}/shapes/{of_shape}{more}" for more in ("/file", "/strike", "/versions/new")),
    ):
        assert elsewhere.get(path).status_code == 404, path


@pytest.mark.parametrize("role", [Role.TRUSTEE, Role.SAFEGUARDING_LEAD, Role.ADMINISTRATOR])
def test_somebody_who_may_only_look_is_shown_no_way_to_change(
    register: Register, coordinator: TestClient, index: int, role: Role
) -> None:
    draft = version(coordinator, index)["id"]
    open_account(register, role, email="looks@example.org")
    reader = signed_in(register, "looks@example.org")
    for path in ("/parts", f"/parts/{index}", f"/parts/versions/{draft}"):
        page = reader.get(path)
        assert page.status_code == 200
        shown = page.text.partition("<main")[2]
        for way in ("/new", "/release", "/withdraw", "/change"):
            assert f'{way}"' not in shown, (path, way)
    for path in ("/parts/new", f"/parts/{index}/versions/new", f"/parts/versions/{draft}/change"):
        assert reader.get(path).status_code == 403
    assert reader.get(f"/parts/versions/{draft}/release").status_code == 403


def test_the_library_is_searched_and_says_when_nothing_matches(
    coordinator: TestClient, browser: TestClient, index: int
) -> None:
    released(coordinator, index)
    design(coordinator, name="Palm, wide", kind="palm", digit=None)
    everything = browser.get("/parts").text
    assert "One of two designs can be printed now." in everything
    assert everything.index("Finger, index") < everything.index("Palm, wide")
    assert "Finger, index" not in browser.get("/parts", params={"q": "wide"}).text
    assert "No part matches." in browser.get("/parts", params={"kind": "cover"}).text
    assert browser.get("/parts", params={"kind": "", "q": ""}).status_code == 200
