"""The passport of a device: what its family keeps, as a page and as a PDF that can be read aloud."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from service.access.permissions import Role
from tests.devices.worn import LENGTH, socket
from tests.gate.reading import browser_of, words
from tests.gate.things import workshop

MARKUP = '#read("/etc/passwd") *x* $1/0$ <l> @k \\ _u_'


def passport(register, shop, name="coordinator", ending=""):
    answer = browser_of(register, name).get(f"/recipients/{shop.number}/devices/{shop.device}/passport{ending}")
    assert answer.status_code == 200, answer.text
    return answer


def of_paper(answer):
    """A PDF, and its words in one line."""
    read = PdfReader(BytesIO(answer.content))
    return read, " ".join(" ".join(each.extract_text() for each in read.pages).split())


@pytest.fixture
def fitted(register):
    """A girl whose new finger came from a build, with a socket that has limits."""
    shop = workshop(register)
    socket(shop.coordinator, shop.number, shop.device, limits=[LENGTH], socks_at_fitting=[3])
    answer = shop.fit(shop.delivered(shop.opened()))
    assert answer.status_code == 201, answer.text
    return shop


TOLD = (
    "Long finger 0, version 1, at scale 1.000, in black PETG",
    "lot 1 (PETG 1.75 mm, black, Northern Reels 24-118)",
    "From build 1; Cy signed its bench check on 2 March 2026.",
    "120.0 mm long, from the bony point on the outer side of the elbow to the end of the limb",
    "Redness is gone within 20 minutes",
    "Day 4: an hour, three times.",
    "+44 1632 960 011",
    "The harbour",
    "made for one named patient alone, Ines, case",
    "Dr Noor Brandt, orthopaedic surgeon, registration 4711, on 1 February 2026",
    "Local rules on medical devices decide",
)


def test_page_and_paper_say_the_same(register, fitted):
    shown = words(passport(register, fitted).text)
    read, printed = of_paper(passport(register, fitted, ending=".pdf"))
    address = f"{register.settings.base_url}/recipients/{fitted.number}/devices/{fitted.device}"
    for expected in (*TOLD, address):
        assert expected in shown, expected
        assert expected.replace(" ", "") in printed.replace(" ", ""), expected
    for said in (shown, printed):
        assert "Okafor" not in said
        assert "congenital" not in said
    assert read.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert read.trailer["/Root"]["/Lang"] == "en"
    assert read.metadata.title == "Passport of a device: Ines, everyday, left"
    assert b"pdfuaid" in read.trailer["/Root"]["/Metadata"].get_data()


def test_a_part_from_no_build_says_so(register):
    shop = workshop(register)
    assert "Not from a build that is on record here." in words(passport(register, shop).text)


@pytest.mark.parametrize(("name", "promised"), [(MARKUP, True), ("伊内斯", False)])
def test_names_are_set_as_they_are_typed(register, name, promised):
    shop = workshop(register, given_name=name)
    read, printed = of_paper(passport(register, shop, ending=".pdf"))
    assert read.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert name in read.metadata.title
    assert "root:" not in printed
    if promised:
        assert name.replace(" ", "") in printed.replace(" ", "")


def test_a_statement_is_not_made_of_half_a_prescription(register):
    shop = workshop(register, prescriber_registration="", prescribed_on=None)
    missing = "Missing: the prescriber's registration, the date of the prescription."
    shown = words(passport(register, shop).text)
    _read, printed = of_paper(passport(register, shop, ending=".pdf"))
    for said in (shown, printed):
        assert missing in said
        assert "Dr Noor Brandt" not in said


def test_other_sites_find_no_passport(register, fitted):
    register.account(Role.COORDINATOR, name="Eb", sites=("island",))
    for ending in ("", ".pdf"):
        path = f"/recipients/{fitted.number}/devices/{fitted.device}/passport{ending}"
        assert browser_of(register, "Eb").get(path).status_code == 404
        assert browser_of(register, "coordinator").get(path.replace("devices/1/", "devices/99/")).status_code == 404
        assert register.browser().get(path).status_code == 303


def test_the_page_of_the_device_leads_to_it(register, fitted):
    page = browser_of(register, "coordinator").get(f"/recipients/{fitted.number}/devices/{fitted.device}")
    assert f"/recipients/{fitted.number}/devices/{fitted.device}/passport" in page.text
