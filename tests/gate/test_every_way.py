"""Every state x every block x everybody who can press: nothing made here reaches a limb past a block.

Blocks arise after each state was reached, as in life: consent is withdrawn, a lot is held, a notice is opened.
"""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from service.builds.rules import BuildState
from service.recipients.tables import RecipientRow
from tests.assembly.things import assemblies, withdraw
from tests.gate.things import consent, fitting, workshop

NEARER = ("making", "made", "cleared", "delivered", "fitted", "worn")
ORDER = ["planned", "making", "made", "cleared", "delivered"]


def no_consent(shop):
    found = shop.coordinator.get(f"/api/v1/recipients/{shop.number}").json()["consents"]
    for each in found:
        if each["purpose"] == "device" and each["kind"] == "consent":
            path = f"/api/v1/recipients/{shop.number}/consents/{each['id']}/withdraw"
            assert shop.coordinator.post(path, json={}).status_code == 200


def no_prescription(shop):
    changes = {"prescriber_registration": ""}
    answer = shop.coordinator.patch(f"/api/v1/recipients/{shop.number}", json=changes)
    assert answer.status_code == 200, answer.text


def withdrawn(shop):
    withdraw(shop.register, shop.version)


def noticed(shop):
    body = {"version": shop.version, "why": "The pin can come out."}
    assert shop.coordinator.post("/api/v1/notices", json=body).status_code == 201


def held(shop):
    body = {"state": "held", "why": "Brittle."}
    assert shop.coordinator.post(f"/api/v1/lots/{shop.spool}/state", json=body).status_code == 200


def allergic(shop):
    with shop.register.db.writing() as session:
        person = session.query(RecipientRow).filter_by(case_number=shop.number).one()
        person.latex_allergy = True


def a_small_child(shop):
    with shop.register.db.writing() as session:
        person = session.query(RecipientRow).filter_by(case_number=shop.number).one()
        person.birth_date = shop.register.clock().date().replace(year=2024)


ARISES = {
    "consent": no_consent,
    "prescription": no_prescription,
    "version": withdrawn,
    "notice": noticed,
    "lot": held,
    "allergy": allergic,
    "small_child": a_small_child,
}
FROM_THE_START = {"consent", "prescription", "version", "notice"}


def reached(shop, state):
    """A build that got to a state with nothing in its way."""
    build = shop.opened()
    steps = [
        shop.made,
        shop.checked,
        lambda each: shop.maker.post(f"/api/v1/builds/{each}/delivered", json={"to": "x"}),
    ]
    if state == "making":
        assert shop.move(build, "making").status_code == 200
    for step, at in zip(steps, ("made", "cleared", "delivered"), strict=True):
        if ORDER.index(state) >= ORDER.index(at):
            step(build)
    assert shop.state(build) == state
    return build


def everybody(shop):
    """Everybody who could press, those who may and those who may not."""
    return [
        shop.coordinator,
        shop.maker,
        shop.checker,
        shop.clinician,
        shop.register.api(Role.TRUSTEE),
        shop.register.api(Role.SAFEGUARDING_LEAD),
        shop.register.api(Role.ADMINISTRATOR),
        shop.register.api(Role.COORDINATOR, sites=("island",)),
    ]


def press_everything(shop, build):
    """Everybody tries every way nearer to a limb; returns the statuses."""
    found = set()
    for client in everybody(shop):
        path = f"/api/v1/builds/{build}"
        for to in NEARER:
            found.add(client.post(f"{path}/moves", json={"to": to}).status_code)
        found.add(client.post(f"{path}/delivered", json={"to": "the mother"}).status_code)
        found.add(client.post(f"{path}/put-on").status_code)
        found.add(client.post(f"{path}/fitted", json=fitting(shop)).status_code)
    return found


@pytest.mark.parametrize("state", ORDER)
@pytest.mark.parametrize("block", ARISES)
def test_nobody_gets_past_a_block(register, state, block):
    shop = workshop(register, latex=False)
    build = reached(shop, state)
    ARISES[block](shop)
    standing = shop.blocks(build)
    if block == "lot" and state in {"planned", "making"}:
        assert block not in standing  # nothing is printed from it yet
        return
    if block == "allergy" and state in {"planned", "making"}:
        return
    assert block in standing
    statuses = press_everything(shop, build)
    assert 500 not in statuses
    furthest = shop.state(build)
    if block in FROM_THE_START:
        # What is begun may be finished on the bench, but goes nowhere.
        assert furthest == state or (state == "making" and furthest == "made")
    else:
        assert ORDER.index(furthest) <= max(ORDER.index(state), ORDER.index("made"))
    (worn,) = assemblies(shop.coordinator, shop.number)[shop.device]
    assert worn["place"] == shop.place


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b'{"to": 7}', b'{"nothing": true}', b"\x00\xff"])
@pytest.mark.parametrize("path", ["moves", "delivered", "fitted"])
def test_what_is_blocked_says_so_whatever_its_body(register, path, body):
    shop = workshop(register)
    build = reached(shop, "made")
    answer = shop.coordinator.post(f"/api/v1/builds/{build}/{path}", content=body)
    assert answer.status_code == 409
    problem = answer.json()
    assert answer.headers["content-type"] == "application/problem+json"
    assert "bench_check" in [each["code"] for each in problem["blocked_by"]]
    for each in problem["blocked_by"]:
        assert set(each) == {"code", "why", "lifted_by"}
        assert all(each.values())


@pytest.mark.parametrize("state", ORDER[:3])
def test_without_a_bench_check_by_another_nothing_goes_out(register, state):
    shop = workshop(register)
    build = reached(shop, state)
    statuses = press_everything(shop, build)
    assert 500 not in statuses
    assert shop.state(build) in {"planned", "making", "made"}
    own = shop.checked(build, by=shop.maker)
    assert own.status_code == 409
    (worn,) = assemblies(shop.coordinator, shop.number)[shop.device]
    assert worn["place"] == shop.place


def test_every_state_is_walked():
    assert set(ORDER) | {"fitted", "worn", "sent_back", "dropped"} == set(BuildState)


def test_consent_given_anew_lifts_it(register):
    shop = workshop(register)
    build = reached(shop, "cleared")
    no_consent(shop)
    refused = shop.maker.post(f"/api/v1/builds/{build}/delivered", json={"to": "the mother"})
    assert [each["code"] for each in refused.json()["blocked_by"]] == ["consent"]
    consent(shop.coordinator, shop.number, "device")
    assert shop.maker.post(f"/api/v1/builds/{build}/delivered", json={"to": "the mother"}).status_code == 201
