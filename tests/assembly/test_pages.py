"""The pages of parts as a browser uses them: looked at, filled in, refused and shown again."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.assembly.things import a_device, act, assemblies, finger, lot, motors, palm, put, socket_version, withdraw
from tests.conftest import Register
from tests.devices.worn import device

EMAIL = "coordinator@example.org"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


@dataclass
class Worn:
    """A device with a palm and an index finger, the finger from a green spool."""

    number: str
    device: int
    palm: int
    finger: int
    spool: int
    index: dict[str, Any]

    @property
    def case(self) -> str:
        return f"/recipients/{self.number}"

    @property
    def page(self) -> str:
        return f"{self.case}/devices/{self.device}"

    @property
    def part(self) -> str:
        return f"{self.case}/parts-in-place/{self.index['place']}"


@pytest.fixture
def hand(register: Register, coordinator: TestClient) -> Worn:
    number, its = a_device(coordinator)
    of_palm, of_finger = palm(register), finger(register)
    spool = lot(coordinator, colour="green")
    put(coordinator, number, its, on="2026-01-10", version=of_palm, scale_across=1.04, scale_along=1.04)
    scales = {"scale_across": 1.04, "scale_along": 1.04}
    index = put(coordinator, number, its, on="2026-01-10", version=of_finger, digit="index", lots=[spool], **scales)
    return Worn(number, its, of_palm, of_finger, spool, index)


def words(page: str) -> str:
    """A page's text, its lines and gaps made one."""
    return re.sub(r" ([,.:;)])", r"\1", " ".join(re.sub(r"<[^>]+>", " ", page).split()))


def test_a_device_is_drawn_and_each_part_says_what_it_is_made_of(browser: TestClient, hand: Worn) -> None:
    page = browser.get(hand.page).text
    assert 'href="#part-index" aria-label="index finger"' in page
    assert 'id="part-index"' in page
    said = words(page)
    assert "Finger, index" in said
    assert ", at 1.040, in green PETG. In place since 10 January." in said
    assert f"From lot {hand.spool} (PETG 1.75 mm, green, Northern Reels 24-118)" in said
    assert (
        "In pencil, not in place: little finger, ring finger, middle finger, thumb, wrist coupling and socket." in said
    )
    assert "should be looked at" not in said


def test_a_withdrawn_version_and_a_held_lot_are_told_on_every_page(
    register: Register, coordinator: TestClient, browser: TestClient, hand: Worn
) -> None:
    withdraw(register, hand.finger, finger(register))
    coordinator.post(f"/api/v1/lots/{hand.spool}/state", json={"state": "held", "why": "brittle"})
    for page in (hand.page, hand.case, hand.part, f"{hand.case}/parts"):
        said = words(browser.get(page).text)
        assert "Its version was withdrawn on 2 March 2026. Use Long finger 2, version 1 instead." in said, page
        assert "A lot it was made from is held since 2 March 2026" in said, page
    drawn = browser.get(hand.page).text
    assert 'aria-label="index finger, withdrawn"' in drawn
    assert "One part should be looked at: index finger." in words(drawn)


def test_a_printed_part_is_put_in_place_through_its_form(
    register: Register, coordinator: TestClient, browser: TestClient, hand: Worn
) -> None:
    ring = finger(register)
    form = browser.get(f"{hand.page}/parts/new").text
    assert "The palm in place is at 1.040." in form
    assert 'id="scale_across" name="scale_across" type="text" value="1.04"' in form
    fields = {"version": str(ring), "digit": "ring", "scale_across": "1,04", f"lots-{hand.spool}": str(hand.spool)}
    made = post(browser, f"{hand.page}/parts/new", {**fields, "on": "2026-02-20"})
    assert (made.status_code, made.headers["location"]) == (303, f"{hand.page}?done=part-put")
    assert "The part is recorded." in browser.get(made.headers["location"]).text
    there = next(each for each in assemblies(coordinator, hand.number)[hand.device] if each["digit"] == "ring")
    assert (there["scale_across"], there["scale_along"], there["colour"]) == (1.04, 1.04, "green")


def test_a_form_comes_back_filled_in_with_what_to_do_at_each_field(
    register: Register, browser: TestClient, hand: Worn
) -> None:
    address = f"{hand.page}/parts/new"
    nothing = post(browser, address, {"scale_across": "1", "note": "for school"})
    assert nothing.status_code == 422
    assert 'href="#version"' in nothing.text
    assert "for school" in nothing.text
    other = finger(register, interface="B")
    fields = {"version": str(other), "digit": "ring", "scale_across": "about one"}
    wrong = post(browser, address, fields)
    assert 'href="#scale_across"' in wrong.text
    assert 'value="about one"' in wrong.text
    doubted = post(browser, address, {**fields, "scale_across": "1.04"})
    assert "Is this right?" in doubted.text
    assert "they do not mate" in doubted.text
    assert f'value="{other}" selected' in doubted.text
    confirmed = post(browser, address, {**fields, "scale_across": "1.04", "confirmed": "true"})
    assert confirmed.status_code == 303
    assert "Surprising, confirmed by who recorded it" in browser.get(hand.page).text


def test_a_bought_part_is_put_in_place_and_a_second_just_like_it_is_asked_about(
    coordinator: TestClient, browser: TestClient, hand: Worn
) -> None:
    batch = motors(coordinator)
    address = f"{hand.page}/parts/new?how=bought"
    fields = {"kind": "motor", f"lots-{batch}": str(batch), "on": "2026-02-20"}
    assert post(browser, address, fields).status_code == 303
    again = post(browser, address, fields)
    assert again.status_code == 422
    assert "Are there really two?" in again.text
    assert post(browser, address, {**fields, "one_more": "true"}).status_code == 303
    page = browser.get(hand.page).text
    assert page.count("Motor (geared motor 6 V)") == 2
    assert page.count('id="part-motor"') == 1
    assert "motor (2)" in page


def test_a_part_is_replaced_by_what_fits(
    register: Register, coordinator: TestClient, browser: TestClient, hand: Worn
) -> None:
    better, other_mount = finger(register), finger(register, interface="B")
    withdraw(register, hand.finger, better)
    shown = words(browser.get(hand.part).text)
    assert "Long finger 2, version 1 fits At 1.040, in green PETG." in shown
    assert "they do not mate" in shown
    form = browser.get(f"{hand.part}/replace").text
    assert "One version of what can be printed fits in its place." in words(form)
    assert re.search(rf'value="{better}" checked', form)
    assert f'value="{hand.finger}"' not in form
    assert f'value="{other_mount}"' in form
    unsaid = post(browser, f"{hand.part}/replace", {"version": str(better), "scale_across": "1.04"})
    assert 'href="#came_off"' in unsaid.text
    fields = {"version": str(better), "scale_across": "1.04", "came_off": "notice", "on": "2026-03-01"}
    done = post(browser, f"{hand.part}/replace", fields)
    assert done.headers["location"] == f"{hand.page}?done=part-replaced"
    (now,) = [each for each in assemblies(coordinator, hand.number)[hand.device] if each["digit"] == "index"]
    assert (now["version"]["id"], now["since"]) == (better, "2026-03-01")
    assert "It came off on 1 March already" in words(browser.get(f"{hand.part}/replace").text)


def test_a_part_comes_off_and_the_history_tells_it(browser: TestClient, hand: Worn) -> None:
    fields = {"on": "2026-02-20", "came_off": "broken", "note": "in the playground"}
    assert post(browser, f"{hand.part}/end", fields).headers["location"] == f"{hand.page}?done=part-off"
    told = words(browser.get(hand.case).text)
    assert "Finger, index came off: broken" in told
    assert "in the everyday device; in the playground" in told
    assert "Finger, index was put in place: Long finger 1, version 1" in told
    assert "One part that came off" in words(browser.get(hand.page).text)
    assert "It came off on 20 February: broken." in words(browser.get(hand.part).text)
    again = post(browser, f"{hand.part}/end", fields, opened=f"{hand.part}/move")
    assert again.status_code == 422
    assert "It came off on 20 February already: broken." in words(again.text)


def test_a_part_moves_to_somebody_elses_device_by_their_case_number(
    coordinator: TestClient, browser: TestClient, hand: Worn
) -> None:
    motor = put(coordinator, hand.number, hand.device, on="2026-01-10", kind="motor", what="geared motor")
    address = f"{hand.case}/parts-in-place/{motor['place']}/move"
    assert "has no other device" in browser.get(address).text
    bela, his = a_device(coordinator, given_name="Bela")
    assert "This is not a case number" in browser.get(f"{address}?case=1000000").text
    offered = browser.get(f"{address}?case={bela}").text
    assert "Into which device of Bela Okafor?" in offered
    moved = post(browser, f"{address}?case={bela}", {"device": str(his), "on": "2026-02-20"})
    assert moved.headers["location"] == f"/recipients/{bela}/devices/{his}?done=part-moved"
    there = assemblies(coordinator, bela)[his][0]
    shown = words(browser.get(f"/recipients/{bela}/parts-in-place/{there['place']}").text)
    assert (
        f"10 January 2026 to 20 February 2026: the everyday device of case {hand.number}, moved to another device"
        in shown
    )


def test_a_mistake_is_struck_and_a_part_put_back_through_their_forms(browser: TestClient, hand: Worn) -> None:
    post(browser, f"{hand.part}/end", {"on": "2026-02-20", "came_off": "broken"})
    back = post(browser, f"{hand.part}/put-back", {"why": "Only its line had come off."})
    assert back.headers["location"] == f"{hand.page}?done=part-back"
    assert 'href="#why"' in post(browser, f"{hand.part}/strike", {}).text
    struck = post(browser, f"{hand.part}/strike", {"why": "It was the ring finger."})
    assert struck.headers["location"] == f"{hand.page}?done=part-struck"
    assert "struck through: It was the ring finger." in words(browser.get(hand.page).text)
    told = browser.get(hand.case).text
    assert "recorded by mistake; struck through by Ines Duarte, 2 March 2026: It was the ring finger." in told
    for act_of in ("end", "replace", "move", "strike", "put-back"):
        assert browser.get(f"{hand.part}/{act_of}").status_code == 200


def test_a_printed_socket_is_recorded_through_its_form(
    register: Register, coordinator: TestClient, browser: TestClient, hand: Worn
) -> None:
    address = f"{hand.page}/sockets/printed"
    assert "No socket was released for this side yet." in browser.get(address).text
    of = socket_version(register, hand.number)
    fields = {
        "version": str(of),
        "fitted_on": "2026-02-20",
        "scale_across": "1",
        f"lots-{hand.spool}": str(hand.spool),
        "socks_at_fitting": "3 + 1",
    }
    wrong = post(browser, address, {**fields, "socks_at_fitting": "two thick ones"})
    assert 'href="#socks_at_fitting"' in wrong.text
    done = post(browser, address, {**fields, "confirmed": "true"})
    assert done.headers["location"] == f"{hand.page}?done=socket-recorded"
    said = words(browser.get(hand.page).text)
    assert "residual limb girth at 40 mm 170.0 mm" in said
    assert "Left socket of the shape of 5 January 2026, version 1, at 1.000, in green PETG" in said
    assert "comes off with this. Why?" in browser.get(address).text


def test_a_day_is_chosen_and_stepped_to(coordinator: TestClient, browser: TestClient, hand: Worn) -> None:
    act(coordinator, hand.number, hand.index["place"], "end", on="2026-02-20", came_off="broken")
    today = words(browser.get(f"{hand.case}/parts").text)
    assert "The left everyday device has one part today." in today
    page = browser.get(f"{hand.case}/parts?on=2026-02-19").text
    assert "The left everyday device had two parts when 19 February 2026 ended." in words(page)
    assert f'href="{hand.case}/parts?on=2026-01-10"' in page
    assert f'href="{hand.case}/parts?on=2026-02-20"' in page
    assert "Nothing was on record as in place when 9 January 2026 ended." in words(
        browser.get(f"{hand.case}/parts?on=2026-01-09").text
    )
    for day, says in (
        ("2026-03-03", "has not come yet"),
        ("2018-05-03", "before the recipient was born"),
        ("x", "date"),
    ):
        refused = browser.get(f"{hand.case}/parts?on={day}")
        assert refused.status_code == 422
        assert says in refused.text
        assert f'value="{day}"' in refused.text


def test_who_wears_a_lot_and_a_version_is_told_by_limb(
    register: Register, coordinator: TestClient, browser: TestClient, hand: Worn
) -> None:
    page = browser.get(f"/lots/{hand.spool}/worn").text
    assert "One limb wears something of it." in words(page)
    assert "Ines Okafor, left, everyday" in words(page)
    assert f'href="{hand.page}"' in page
    island = register.api(Role.COORDINATOR, sites=("island",))
    zoe, hers = a_device(island, given_name="Zoe")
    put(island, zoe, hers, version=hand.finger, digit="index")
    version = words(browser.get(f"/parts/versions/{hand.finger}/worn").text)
    assert "One limb wears something of it, and one limb of cases you may not see." in version
    assert "Zoe" not in version
    before = words(browser.get(f"/parts/versions/{hand.finger}/worn?on=2026-01-09").text)
    assert "Nobody wore anything of it on 9 January 2026." in before
    act(coordinator, hand.number, hand.index["place"], "end", on="2026-02-20", came_off="broken")
    ever = words(browser.get(f"/lots/{hand.spool}/worn?ever=true").text)
    assert "One limb has worn something of it." in ever
    assert "it came off on 20 February" in ever
    assert "Nobody wears anything of it." in words(browser.get(f"/lots/{hand.spool}/worn").text)


def test_a_device_without_parts_says_what_to_do(coordinator: TestClient, browser: TestClient, hand: Worn) -> None:
    other = device(coordinator, hand.number, purpose="music")
    page = browser.get(f"{hand.case}/devices/{other}").text
    assert "No part is recorded." in page
    assert f'href="{hand.case}/devices/{other}/parts/new"' in page


def test_somebody_who_may_only_look_is_shown_no_form(register: Register, hand: Worn) -> None:
    open_account(register, Role.SAFEGUARDING_LEAD, email="lead@example.org")
    lead = signed_in(register, "lead@example.org")
    for page in (hand.page, hand.part, f"{hand.case}/parts"):
        answer = lead.get(page)
        assert answer.status_code == 200
        assert "/replace" not in answer.text
        assert "/parts/new" not in answer.text
    assert f'href="/lots/{hand.spool}"' not in lead.get(hand.page).text
    for form in (f"{hand.page}/parts/new", f"{hand.page}/sockets/printed", *(f"{hand.part}/{each}" for each in ACTS)):
        assert lead.get(form).status_code == 403
    open_account(register, Role.COORDINATOR, email="island@example.org", site="island")
    stranger = signed_in(register, "island@example.org")
    for page in (hand.page, hand.part, f"{hand.case}/parts", f"/lots/{hand.spool}/worn", f"{hand.part}/replace"):
        assert stranger.get(page).status_code == 404


ACTS = ("end", "replace", "move", "strike", "put-back")
