"""Each block is lifted by its line of the table, over HTTP, by whom it names."""

from __future__ import annotations

from datetime import date

import pytest

from service.access.permissions import Role
from tests.assembly.things import finger, lot, withdraw
from tests.devices.worn import made
from tests.gate.things import PRESCRIPTION, agreed_case, workshop

NO_PRESCRIPTION = {name: None if name == "prescribed_on" else "" for name in PRESCRIPTION}
RULE = {
    "site": "harbour",
    "words": "Grown-ups may ask for themselves.",
    "trustee": "Ada Vos",
    "decided_on": "2026-03-01",
}
TIGHT = {"kind": "pin_bore", "nominal_mm": 3.0, "holds_mm": 3.0, "clearance_mm": 0.3, "axis": "across"}


def blocked_by(answer):
    """The codes of what stands in the way."""
    assert answer.status_code == 409, answer.text
    return [each["code"] for each in answer.json()["blocked_by"]]


@pytest.mark.parametrize("missing", PRESCRIPTION)
def test_a_prescription_is_whole_or_stops_the_start(register, missing):
    shop = workshop(register, **{**PRESCRIPTION, missing: NO_PRESCRIPTION[missing]})
    build = shop.opened()
    assert blocked_by(shop.move(build, "making")) == ["prescription"]
    changes = {missing: PRESCRIPTION[missing]}
    assert shop.coordinator.patch(f"/api/v1/recipients/{shop.number}", json=changes).status_code == 200
    assert shop.move(build, "making").status_code == 200


def test_the_legal_basis_is_the_trustees_to_record_and_to_end(register):
    shop = workshop(register, **NO_PRESCRIPTION)
    build = shop.opened()
    body = {**RULE, "rule": "legal_basis"}
    assert shop.coordinator.post("/api/v1/site-rules", json=body).status_code == 403
    elsewhere = register.api(Role.TRUSTEE, sites=("island",))
    assert elsewhere.post("/api/v1/site-rules", json=body).status_code == 422
    assert elsewhere.post("/api/v1/site-rules", json={**body, "site": "island"}).status_code == 201
    assert blocked_by(shop.move(build, "making")) == ["prescription"]
    trustee = register.api(Role.TRUSTEE)
    rule = made(trustee, "site-rules", body)
    assert trustee.post("/api/v1/site-rules", json=body).status_code == 409
    assert shop.move(build, "making").status_code == 200
    assert trustee.post(f"/api/v1/site-rules/{rule['id']}/end", json={}).status_code == 200
    assert shop.blocks(build) == {"bench_check", "prescription"}


def test_a_first_device_needs_a_note_or_a_rule(register):
    shop = workshop(register)
    number = agreed_case(shop.coordinator, given_name="Tam", family_name="Vos", birth_date="2017-01-05")
    asked = made(shop.coordinator, "requests", {"case_number": number, "kind": "first_device"})
    items = [{"version": shop.version, "digit": "index"}]
    body = {"request": asked["id"], "volunteer": shop.volunteer, "items": items}
    build = int(made(shop.coordinator, "builds", body)["id"])
    assert blocked_by(shop.move(build, "making")) == ["suitability"]
    trustee = register.api(Role.TRUSTEE)
    rule = made(trustee, "site-rules", {**RULE, "rule": "suitability"})
    assert "suitability" not in shop.blocks(build)
    note = {"verdict": "not_yet", "noted_by": "Dr Noor Brandt", "noted_on": "2026-03-01"}
    made(shop.clinician, f"recipients/{number}/suitability", note)
    assert "suitability" in shop.blocks(build)
    trustee.post(f"/api/v1/site-rules/{rule['id']}/end", json={})
    made(shop.clinician, f"recipients/{number}/suitability", {**note, "verdict": "suitable"})
    assert shop.move(build, "making").status_code == 200


def test_a_small_child_needs_a_clinicians_word(register):
    shop = workshop(register, birth_date="2024-06-01", latex_allergy=False)
    build = shop.made(shop.opened())
    answer = shop.checked(build)
    assert answer.status_code == 201, answer.text
    assert shop.state(build) == "made"
    assert blocked_by(shop.move(build, "cleared")) == ["small_child"]
    words = {"code": "small_child", "words": "He wears it under watch; the tips are bonded."}
    for client in (shop.coordinator, shop.maker, register.api(Role.TRUSTEE)):
        assert client.post(f"/api/v1/builds/{build}/acceptances", json=words).status_code == 403
    other = shop.clinician.post(f"/api/v1/builds/{build}/acceptances", json={**words, "code": "consent"})
    assert other.status_code == 409
    assert shop.clinician.post(f"/api/v1/builds/{build}/acceptances", json=words).status_code == 201
    assert shop.clinician.post(f"/api/v1/builds/{build}/acceptances", json=words).status_code == 409
    assert shop.move(build, "cleared").status_code == 200


def test_a_bore_that_comes_out_tight_is_drilled_and_gauged(register):
    shop = workshop(register, features=(TIGHT,))
    build = shop.made(shop.opened())
    assert shop.blocks(build) == {"bench_check", "scale"}
    asked = shop.checker.get(f"/api/v1/builds/{build}/checks").json()["asked"]["bench"]
    gauged = next(each for each in asked if each["item"] == "gauged")
    assert not gauged["may_not_apply"]
    assert "3.3" in gauged["because"]
    skipped = shop.checked(build, gauged={"result": "not_applicable", "why": "no gauge at hand"})
    assert skipped.status_code == 422
    assert shop.checked(build).status_code == 201
    assert shop.state(build) == "cleared"


def test_a_version_that_was_withdrawn_is_made_as_its_successor(register):
    shop = workshop(register)
    build = shop.opened()
    better = finger(register, digit="index")
    withdraw(register, shop.version, better)
    assert blocked_by(shop.move(build, "making")) == ["version"]
    said = shop.coordinator.get(f"/api/v1/builds/{build}/blocks").json()["items"]
    assert any("instead" in each["why"] for each in said)
    items = {"items": [{"version": better, "place": shop.place, "digit": "index"}]}
    assert shop.maker.put(f"/api/v1/builds/{build}/items", json=items).status_code == 200
    assert shop.move(build, "making").status_code == 200


def test_a_lot_that_was_held_is_printed_anew_from_another(register):
    shop = workshop(register)
    build = shop.made(shop.opened())
    held = {"state": "held", "why": "Brittle."}
    assert shop.coordinator.post(f"/api/v1/lots/{shop.spool}/state", json=held).status_code == 200
    assert shop.checked(build).status_code == 201
    assert blocked_by(shop.move(build, "cleared")) == ["lot"]
    shop.move(build, "sent_back", why="the spool is held")
    shop.move(build, "making")
    (printed,) = shop.build(build)["prints"]
    shop.maker.post(f"/api/v1/builds/{build}/prints/{printed['id']}/discard", json={"why": "brittle"})
    shop.spool = lot(shop.coordinator, batch="24-119")
    shop.printed(build)
    assert shop.move(build, "made").status_code == 200
    assert shop.checked(build).status_code == 201
    assert shop.state(build) == "cleared"


def test_a_measured_value_is_held_against_its_limit(register):
    shop = workshop(register)
    build = shop.made(shop.opened())
    weak = shop.checked(build, line_pull={"result": "pass", "value": 90})
    assert weak.status_code == 422
    assert "at least 131 N" in weak.json()["errors"][0]["message"]
    words = shop.checked(build, label={"result": "pass", "value": 3})
    assert words.status_code == 422
    failed = shop.checked(build, line_pull={"result": "fail", "value": 90, "why": "the knot slipped"})
    assert failed.status_code == 201
    assert shop.state(build) == "sent_back"
    assert shop.build(build)["moves"][-1]["why"] == "line pull: the knot slipped"


def test_a_site_sets_its_own_limit_with_its_source(register):
    shop = workshop(register)
    build = shop.made(shop.opened())
    limit = {"site": "harbour", "item": "line_pull", "value": 60, "source": "our clinic's protocol of 2026"}
    assert shop.coordinator.put("/api/v1/check-limits", json=limit).status_code == 403
    assert register.api(Role.ADMINISTRATOR).put("/api/v1/check-limits", json=limit).status_code == 200
    assert shop.checked(build, line_pull={"result": "pass", "value": 90}).status_code == 201
    (check,) = shop.coordinator.get(f"/api/v1/builds/{build}/checks").json()["items"]
    pulled = next(each for each in check["findings"] if each["item"] == "line_pull")
    assert pulled["limit"] == "at least 60 N: our clinic's protocol of 2026"


@pytest.mark.parametrize(
    ("findings", "said"),
    [
        ([], "Look at these as well"),
        ([{"item": "sharp_edges", "result": "pass"}, {"item": "sharp_edges", "result": "pass"}], "found twice"),
        ([{"item": "battery", "result": "pass"}], "is not asked for here"),
        ([{"item": "sharp_edges", "result": "not_applicable", "why": "none"}], "always applies here"),
        ([{"item": "label", "result": "not_applicable"}], "Say why it does not apply"),
        ([{"item": "label", "result": "fail"}], "Say what is wrong"),
    ],
)
def test_a_check_is_whole_or_not_signed(register, findings, said):
    shop = workshop(register)
    build = shop.made(shop.opened())
    answer = shop.checker.post(f"/api/v1/builds/{build}/checks", json={"kind": "bench", "findings": findings})
    assert answer.status_code == 422
    assert any(said in each["message"] for each in answer.json()["errors"])
    assert shop.coordinator.get(f"/api/v1/builds/{build}/checks").json()["items"] == []
    tomorrow = {"kind": "bench", "findings": findings, "on": str(date(2026, 3, 3))}
    assert shop.checker.post(f"/api/v1/builds/{build}/checks", json=tomorrow).status_code == 422
