"""The card that lies on the bench: all that is needed to make it, and not a word of whom it is for."""

from __future__ import annotations

import re

from service.access.permissions import Role
from tests.assembly.things import socket_version
from tests.conftest import Register
from tests.gate.reading import browser_of, words
from tests.gate.things import workshop

BORE = {"kind": "pin_bore", "nominal_mm": 3.0, "holds_mm": 3.0, "clearance_mm": 0.2, "note": "knuckle"}
TOLD = {
    "given_name": "Ines",
    "family_name": "Okafor",
    "notes": "shy with strangers",
    "skin_allergies": "nickel",
    "latex_allergy": True,
}


def card(register, build, name="Bo"):
    answer = browser_of(register, name).get(f"/builds/{build}/job-card")
    assert answer.status_code == 200, answer.text
    return answer.text


def test_the_card_says_what_to_print_and_how(register):
    shop = workshop(register, features=(BORE,))
    item = {"version": shop.version, "scale_across": 0.95, "scale_along": 1.1, "colour": "sea green", "quantity": 2}
    build = shop.opened(items=[{**item, "place": shop.place}], deadline="2026-03-20")
    said = words(card(register, build))
    for expected in (
        "Make two times index finger, to be there by 20 March.",
        "Long finger 0, version 1",
        "Print 2",
        "Scale across 0.950",
        "Scale along 1.100",
        "PETG, sea green",
        "nozzle 0.4 mm, layer 0.2 mm, three walls, infill 20 %",
        "9.5 by 9.5 by 11.0 mm",
        "The pin bore of 3 mm comes out at 2.85 mm, and 3.20 mm are needed: drill or ream it to 3.20 mm",
        "knuckle",
        "Run a cloth and a finger over every edge: nothing catches.",
        "At least 131 N.",
        "Drill or ream what came out too tight",
        "Index finger, left",
    ):
        assert expected in said, expected


def test_the_card_leads_to_the_page_of_its_build(register):
    shop = workshop(register)
    build = shop.opened()
    html = card(register, build)
    address = f"{register.settings.base_url}/builds/{build}"
    assert f'href="{address}"' in html
    assert "<script" not in html[html.index("<main") :]


def test_a_card_that_lies_about_tells_of_nobody(register):
    shop = workshop(register, **TOLD)
    shop.coordinator.post(
        f"/api/v1/recipients/{shop.number}/contacts",
        json={"name": "Ana Okafor", "relation": "mother", "phone": "+44 1632 960 555", "address": "5 Brine Street"},
    )
    build = shop.opened(remarks="for Ines, who has amniotic bands")
    for reader in ("coordinator", "Bo"):
        said = words(card(register, build, reader)).casefold()
        told = ("ines", "okafor", "brine", "960 555", shop.number, "congenital", "forearm", "amniotic", "nickel")
        for word in (*told, "allerg", "2018", "shy", "snapped", "female", "harbour", "bo"):
            assert not re.search(rf"\b{re.escape(word)}", said), word
        assert "free of latex" in said  # asked all the same, without why


def test_a_socket_made_from_a_childs_own_shape_has_a_card_for_its_maker(register: Register):
    shop = workshop(register)
    private = socket_version(register, shop.number, file_name="ines-okafor-left.stl", print_settings={"walls": 5})
    asked = shop.coordinator.post(
        "/api/v1/requests",
        json={"case_number": shop.number, "kind": "replacement", "parts": [{"kind": "socket"}], "words": "tight"},
    ).json()
    body = {"request": asked["id"], "volunteer": shop.volunteer, "items": [{"version": private, "scale_across": 1.02}]}
    build = shop.coordinator.post("/api/v1/builds", json=body).json()["id"]
    said = words(card(register, build))
    assert "Left socket of the shape of 5 January 2026, version 1" in said
    assert "five walls" in said
    assert "ines" not in said.casefold()


def test_what_stops_the_making_is_on_the_card_without_whose_it_is(register):
    shop = workshop(register)
    build = shop.opened()
    notice = {"version": shop.version, "why": "the hinge of Ines broke", "todo": "look"}
    opened = shop.coordinator.post("/api/v1/notices", json=notice)
    assert opened.status_code == 201, opened.text
    said = words(card(register, build))
    assert "Safety notice 1 is open on Long finger 0, version 1." in said
    assert "hinge" not in said


def test_who_may_not_see_a_build_sees_no_card_of_it(register):
    shop = workshop(register)
    build = shop.opened()
    register.account(Role.VOLUNTEER, name="Di")
    register.account(Role.COORDINATOR, name="Eb", sites=("island",))
    register.account(Role.TRUSTEE, name="Fa")
    page = f"/builds/{build}/job-card"
    answers = {name: browser_of(register, name).get(page).status_code for name in ("Di", "Eb", "Fa")}
    assert answers == {"Di": 404, "Eb": 404, "Fa": 403}
    assert register.browser().get(f"/builds/{build}/job-card").status_code == 303
