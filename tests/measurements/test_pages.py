"""The measuring form and the correction form, filled in as a browser does."""

from __future__ import annotations

import re
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.measurements.tables import ReadingRow
from tests.accounts.people import AT_HOME, form_token, open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import GIRTH as GIRTH_LIMIT
from tests.devices.worn import device, opened, socket
from tests.measurements.taken import girth, listed, taken

GIRTH, SECOND, HEIGHT, WEIGHT = (
    "residual_limb_girth-left-1",
    "residual_limb_girth-left-2",
    "height-body-1",
    "weight-body-1",
)


class Visit:
    """A coordinator at a child's door: a browser, an API client of the same person, and the child's case."""

    def __init__(self, register: Register, **child: Any) -> None:
        account = open_account(register, Role.COORDINATOR)
        self.api: TestClient = register.api(account=account)
        self.browser: TestClient = signed_in(register)
        self.number = opened(self.api, **child)
        self.at = f"/recipients/{self.number}/measure"

    def page(self) -> Any:
        return self.browser.get(self.at)

    def send(self, changes: dict[str, str], *, page: Any = None, at: str | None = None) -> Any:
        """Send the form of a page (the empty one unless another is given) with some fields changed."""
        page = page or self.browser.get(at or self.at)
        fields = {**fields_of(page), "form_token": form_token(page), **changes}
        return self.browser.post(at or self.at, data=fields, headers=AT_HOME)

    def readings(self) -> list[dict[str, Any]]:
        return [each for session in listed(self.api, self.number)["items"] for each in session["readings"]]


def fields_of(page: Any) -> dict[str, str]:
    """What a browser would send of a page's form if its button were pressed at once."""
    main = page.text.partition("<main")[2]
    inputs = re.findall(r'<input id="[^"]*" name="([^"]*)"[^>]*? value="([^"]*)"', main)
    inputs += [
        (name, value)
        for name, options in re.findall(r'<select id="[^"]*" name="([^"]*)"[^>]*>(.*?)</select>', main, re.DOTALL)
        for value in re.findall(r'<option value="([^"]*)" selected', options)
    ]
    inputs += re.findall(r'<textarea id="[^"]*" name="([^"]*)"[^>]*>\n(.*?)</textarea>', main, re.DOTALL)
    return dict(inputs)


@pytest.fixture
def visit(register: Register) -> Visit:
    return Visit(register)


def test_a_first_visit_offers_what_the_limb_has(visit: Visit) -> None:
    page = visit.page()
    assert page.status_code == 200
    assert "Nothing has been measured of Ines yet." in page.text
    offered = {name for name in fields_of(page) if re.fullmatch(r"\w+-\w+-\d-1", name)}
    assert offered == {
        "residual_limb_girth-left-1-1",
        "residual_limb_girth-left-2-1",
        "residual_limb_girth-left-3-1",
        "residual_limb_length-left-1-1",
        "hand_length-right-1-1",
        "hand_breadth-right-1-1",
        "height-body-1-1",
        "weight-body-1-1",
    }
    fields = fields_of(page)
    # A third of a long forearm at eight is some 68 mm, so 90 mm is not offered; the third level is open.
    assert [fields[f"residual_limb_girth-left-{n}-level"] for n in (1, 2, 3)] == ["30", "60", ""]


def test_without_a_described_limb_the_form_says_why_it_asks_for_so_little(register: Register) -> None:
    visit = Visit(register, limbs=[])
    page = visit.page()
    assert "No limb is described in this case yet" in page.text
    offered = {name.partition("-")[0] for name in fields_of(page) if name.endswith("-1-1")}
    assert offered == {"hand_length", "hand_breadth", "height", "weight"}


def test_a_short_limb_is_offered_fewer_levels(register: Register) -> None:
    visit = Visit(register, birth_date="2024-09-02")
    fields = fields_of(visit.page())
    assert [fields[f"residual_limb_girth-left-{n}-level"] for n in (1, 2)] == ["30", ""]


@pytest.mark.parametrize(
    ("level", "offered"),
    [
        ("wrist", {"residual_limb_girth", "residual_limb_length"}),
        ("elbow", {"residual_limb_girth", "residual_limb_length"}),
        ("upper_arm_middle", {"residual_limb_girth", "residual_limb_length"}),
        ("metacarpal", {"hand_breadth", "forearm_girth"}),
        ("shoulder", set()),
    ],
)
def test_each_limb_is_asked_for_what_it_has(register: Register, level: str, offered: set[str]) -> None:
    visit = Visit(register, limbs=[{"side": "left", "cause": "acquired", "level": level}])
    names = fields_of(visit.page())
    assert {name.partition("-")[0] for name in names if "-left-" in name} == offered


def test_what_is_typed_is_recorded_and_leads_back_to_the_case(visit: Visit) -> None:
    sent = visit.send(
        {
            "unit": "cm",
            f"{GIRTH}-1": "17,2",
            f"{GIRTH}-2": "17,4",
            f"{GIRTH}-3": " 17.3 ",
            f"{GIRTH}-level": "32,5",
            f"{HEIGHT}-1": "124.2",
            f"{WEIGHT}-1": "55",
            "weight_unit": "lb",
            "note": "Fidgety.",
        }
    )
    assert sent.status_code == 303, sent.text
    assert sent.headers["location"] == f"/recipients/{visit.number}?done=measurement-recorded"
    (session,) = listed(visit.api, visit.number)["items"]
    assert (session["taken_on"], session["method"], session["taken_by"]) == ("2026-03-02", "tape", "Ines Duarte")
    first, height, weight = session["readings"]
    assert (first["value_mm"], first["spread_mm"], first["level_mm"]) == (173.0, 2.0, 32.5)
    assert height["value_mm"] == 1242.0
    assert weight["value_kg"] == pytest.approx(24.9476, abs=1e-4)


def test_the_last_values_stand_beside_the_fields_and_their_levels_are_offered_again(visit: Visit) -> None:
    height = {"dimension": "height", "values": [1230], "unit": "mm"}
    taken(visit.api, visit.number, girth(165, level_mm=45), taken_on="2025-06-01")
    taken(visit.api, visit.number, girth(170, level_mm=40), girth(160, level_mm=70), height, taken_on="2025-12-01")
    page = visit.page()
    assert "Ines was last measured on" in page.text
    fields = fields_of(page)
    assert [fields[f"residual_limb_girth-left-{n}-level"] for n in (1, 2, 3)] == ["40", "70", ""]
    assert "170.0 mm on 1 December" in page.text
    assert "123.0 cm on 1 December" in page.text
    assert "165.0 mm" not in page.text


def test_every_level_measured_of_late_and_every_limit_of_the_socket_is_offered(visit: Visit) -> None:
    taken(visit.api, visit.number, girth(150, level_mm=100), taken_on="2024-02-01")
    taken(visit.api, visit.number, girth(170, level_mm=40), taken_on="2025-09-01")
    taken(visit.api, visit.number, girth(165, level_mm=63), taken_on="2025-12-01")
    limits = [GIRTH_LIMIT, {**GIRTH_LIMIT, "level_mm": 80}]
    socket(visit.api, visit.number, device(visit.api, visit.number), limits=limits, confirmed=True)
    page = visit.page()
    fields = fields_of(page)
    assert [fields[f"residual_limb_girth-left-{n}-level"] for n in range(1, 5)] == ["40", "60", "80", ""]
    assert "165.0 mm on 1 December" in page.text, "63 mm is as good as 60"
    assert "residual_limb_girth-left-5-level" not in fields


def test_no_more_levels_are_offered_than_are_measured(visit: Visit) -> None:
    for month, level in enumerate((20, 30, 40, 50, 60), start=8):
        taken(visit.api, visit.number, girth(170, level_mm=level), taken_on=f"2025-{month:02}-01")
    fields = fields_of(visit.page())
    assert [fields[f"residual_limb_girth-left-{n}-level"] for n in range(1, 6)] == ["30", "40", "50", "60", ""]


@pytest.mark.parametrize(
    ("typed", "unit", "stored"),
    [("171,5 mm", "mm", 171.5), ("17.2 cm", "mm", 172.0), ("172mm", "cm", 172.0)],
    ids=["as said", "another unit", "against the choice"],
)
def test_a_unit_written_after_a_number_is_understood(visit: Visit, typed: str, unit: str, stored: float) -> None:
    sent = visit.send({"unit": unit, f"{GIRTH}-1": typed, f"{GIRTH}-level": "60 mm"})
    assert sent.status_code == 303, sent.text
    assert [(each["value_mm"], each["level_mm"]) for each in visit.readings()] == [(stored, 60)]
    at = f"/recipients/{visit.number}/readings/{visit.readings()[0]['id']}/correct"
    assert visit.send({"values-1": "17.3 cm", "why": "Looked again."}, at=at).status_code == 303
    assert visit.readings()[1]["value_mm"] == 173


@pytest.mark.parametrize("typed", ["abc", "17 spans", "17.1 cm or 172"])
def test_what_is_no_number_is_asked_for_with_an_example(visit: Visit, typed: str) -> None:
    refused = visit.send({f"{GIRTH}-1": typed})
    assert refused.status_code == 422
    assert "a number, such as 171.5" in refused.text
    assert fields_of(refused)[f"{GIRTH}-1"] == typed


def test_repeats_in_two_units_are_not_guessed_at(visit: Visit) -> None:
    assert visit.send({f"{GIRTH}-1": "17.1 cm", f"{GIRTH}-2": "171 mm"}).status_code == 422
    assert visit.readings() == []


def test_an_empty_form_says_what_to_do(visit: Visit) -> None:
    refused = visit.send({"note": "Nobody was at home."})
    assert refused.status_code == 422
    assert "Type at least one reading." in refused.text
    assert "Nobody was at home." in refused.text


def test_a_slip_is_shown_at_its_field_with_all_that_was_typed(visit: Visit) -> None:
    refused = visit.send({f"{GIRTH}-1": "1810", f"{GIRTH}-2": "182", f"{HEIGHT}-1": "124,2", "taken_by": "Noor"})
    assert refused.status_code == 422
    assert f'<a href="#{GIRTH}">' in refused.text
    assert "did you mean 181.0 mm?" in refused.text
    fields = fields_of(refused)
    assert (fields[f"{GIRTH}-1"], fields[f"{GIRTH}-2"], fields[f"{HEIGHT}-1"]) == ("1810", "182", "124,2")
    assert fields["taken_by"] == "Noor"
    assert visit.readings() == []
    assert visit.send({f"{GIRTH}-1": "181.0"}, page=refused).status_code == 303


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({f"{GIRTH}-1": "big"}, GIRTH),
        ({f"{GIRTH}-2": "-3"}, GIRTH),
        ({f"{GIRTH}-1": "171", f"{GIRTH}-level": ""}, f"{GIRTH}-level"),
        ({f"{GIRTH}-1": "171", f"{GIRTH}-level": "low"}, f"{GIRTH}-level"),
        ({f"{GIRTH}-1": "171", f"{SECOND}-1": "165", f"{GIRTH}-level": "60", f"{SECOND}-level": "60"}, SECOND),
        ({f"{GIRTH}-1": "171", "unit": ""}, "unit"),
        ({f"{WEIGHT}-1": "25", "weight_unit": "mm"}, "weight_unit"),
        ({f"{HEIGHT}-1": "124.2", "height_unit": "mm"}, HEIGHT),
        ({f"{GIRTH}-1": "171", "taken_on": "2026-03-03"}, "taken_on"),
        ({f"{GIRTH}-1": "171", "taken_on": ""}, "taken_on"),
        ({f"{GIRTH}-1": "171", "method": ""}, "method"),
    ],
)
def test_a_refused_form_links_to_the_field_and_stores_nothing(visit: Visit, changes: Any, field: str) -> None:
    refused = visit.send(changes)
    assert refused.status_code == 422
    assert f'<a href="#{field}">' in refused.text
    assert f'id="{field}"' in refused.text
    assert f'id="{field}-error"' in refused.text
    assert visit.readings() == []


def test_a_doubt_is_asked_kindly_and_recorded_only_on_a_yes(visit: Visit) -> None:
    taken(visit.api, visit.number, girth(180, level_mm=30), taken_on="2025-12-01")
    asked = visit.send({f"{GIRTH}-1": "169.2"})
    assert asked.status_code == 422
    assert "Is this right?" in asked.text
    assert "6 % smaller than the 180.0 mm of 1 December 2025" in asked.text
    assert re.search(rf'<a href="#{GIRTH}">Left residual limb girth', asked.text), "the sentence leads to its field"
    assert re.search(r"<div[^>]* autofocus>\s*<h2>Is this right", asked.text), "and is what is seen first"
    assert len(visit.readings()) == 1
    assert visit.send({}, page=asked).status_code == 422, "the ordinary button asks again"
    assert visit.send({"confirmed": "true"}, page=asked).status_code == 303
    assert [bool(each["doubts"]) for each in visit.readings()] == [True, False]


def test_a_row_typed_for_a_level_that_is_no_longer_offered_is_not_lost(visit: Visit) -> None:
    page = visit.page()
    taken(visit.api, visit.number, girth(171, level_mm=50))
    refused = visit.send({"residual_limb_girth-left-3-1": "1600", "residual_limb_girth-left-3-level": "75"}, page=page)
    assert fields_of(refused)["residual_limb_girth-left-3-1"] == "1600"
    assert fields_of(refused)["residual_limb_girth-left-3-level"] == "75"


def test_a_reading_is_corrected_from_its_page(visit: Visit) -> None:
    made = taken(visit.api, visit.number, girth(171))
    at = f"/recipients/{visit.number}/readings/{made['readings'][0]['id']}/correct"
    assert "left residual limb girth at 60 mm of Ines was written down as 171.0 mm" in visit.browser.get(at).text
    refused = visit.send({"values-1": "1750"}, at=at)
    assert refused.status_code == 422
    assert 'href="#why"' in refused.text
    assert fields_of(refused)["values-1"] == "1750"
    refused = visit.send({"why": "Read upside down."}, page=refused, at=at)
    assert "did you mean 175.0 mm?" in refused.text
    done = visit.send({"values-1": "175"}, page=refused, at=at)
    assert done.headers["location"] == f"/recipients/{visit.number}?done=measurement-corrected"
    assert [each["value_mm"] for each in visit.readings()] == [171.0, 175.0]
    assert "Read upside down." in visit.browser.get(at).text
    assert visit.send({"values-1": "176"}, page=refused, at=at).status_code == 422
    assert len(visit.readings()) == 2


def test_a_reading_can_only_be_struck_out(visit: Visit) -> None:
    made = taken(visit.api, visit.number, girth(171))
    at = f"/recipients/{visit.number}/readings/{made['readings'][0]['id']}/correct"
    assert visit.send({"why": "Over a sleeve."}, at=at).status_code == 303
    (reading,) = visit.readings()
    assert reading["struck"]["why"] == "Over a sleeve."


def test_the_forms_are_not_there_for_a_stranger(register: Register, visit: Visit) -> None:
    made = taken(visit.api, visit.number, girth(171))
    at = f"/recipients/{visit.number}/readings/{made['readings'][0]['id']}/correct"
    open_account(register, Role.TRUSTEE, email="trustee@example.org", name="Trustee")
    trustee = signed_in(register, email="trustee@example.org")
    assert [trustee.get(each).status_code for each in (visit.at, at)] == [403, 403]
    assert [register.browser().get(each).status_code for each in (visit.at, at)] == [303, 303]
    other = visit.browser.get(f"/recipients/{opened(visit.api)}/readings/{made['readings'][0]['id']}/correct")
    assert other.status_code == 404


def test_a_form_without_its_token_is_refused(register: Register, visit: Visit) -> None:
    refused = visit.browser.post(visit.at, data={f"{GIRTH}-1": "171"}, headers=AT_HOME)
    assert refused.status_code == 403
    with register.db.reading() as db:
        assert db.scalar(sa.select(sa.func.count()).select_from(ReadingRow)) == 0
