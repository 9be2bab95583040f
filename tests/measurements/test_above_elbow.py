"""A limb that ends at the elbow or above is counted from the acromion: in forms, in data and in what is said of it."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from service.measurements.tables import ReadingRow
from tests.conftest import Register
from tests.devices.worn import GIRTH, device, socket
from tests.measurements.taken import girth, session, taken
from tests.measurements.test_pages import Visit, fields_of

ACROMION = "the acromion, measuring distally"
ABOVE = ("elbow", "upper_arm_lower", "upper_arm_middle", "upper_arm_upper", "shoulder")


def limb(level: str = "upper_arm_middle", side: str = "left") -> dict[str, str]:
    return {"side": side, "cause": "acquired", "level": level}


def landmarks(visit: Visit) -> list[str]:
    return [each["landmark"] for each in visit.readings()]


@pytest.mark.parametrize("level", ABOVE)
def test_a_reading_without_a_landmark_is_kept_as_counted_from_the_acromion(register: Register, level: str) -> None:
    visit = Visit(register, limbs=[limb(level)])
    length = {"dimension": "residual_limb_length", "side": "left", "values": [150], "unit": "mm"}
    recorded = taken(visit.api, visit.number, girth(190, level_mm=80), length)
    assert [each["landmark"] for each in recorded["readings"]] == [ACROMION, "the acromion to the end of the limb"]


@pytest.mark.parametrize("level", ["forearm_upper", "wrist"])
def test_a_forearm_is_counted_from_the_elbow_as_ever(register: Register, level: str) -> None:
    visit = Visit(register, limbs=[limb(level)])
    taken(visit.api, visit.number, girth(170, level_mm=30))
    assert landmarks(visit) == [""]


def test_only_the_side_that_ends_above_the_elbow_is_counted_from_the_acromion(register: Register) -> None:
    visit = Visit(register, limbs=[limb(), limb("forearm_middle", "right")])
    sound = {"dimension": "upper_arm_girth", "side": "right", "level_mm": 80, "values": [195], "unit": "mm"}
    taken(visit.api, visit.number, girth(190, level_mm=80), girth(172, side="right"), sound)
    assert landmarks(visit) == [ACROMION, "", ""], "an upper arm's own landmark is the acromion"


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        (ACROMION, ACROMION),
        ("Acromion", ACROMION),
        ("the acromion", ACROMION),
        ("the lateral epicondyle", ""),
        ("the end of the limb", "the end of the limb"),
    ],
)
def test_a_landmark_is_known_by_the_words_people_use(register: Register, written: str, kept: str) -> None:
    visit = Visit(register, limbs=[limb()])
    taken(visit.api, visit.number, girth(190, level_mm=80, landmark=written))
    assert landmarks(visit) == [kept]


def test_a_limb_described_anew_leaves_what_was_measured_as_it_was(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    before = taken(visit.api, visit.number, girth(190, level_mm=80), taken_on="2026-02-20")
    forearm = {"limbs": [limb("forearm_lower")]}
    assert visit.api.patch(f"/api/v1/recipients/{visit.number}", json=forearm).status_code == 200
    after = taken(visit.api, visit.number, girth(172, level_mm=80))
    assert landmarks(visit) == ["", ACROMION]
    assert after["readings"][0]["doubts"] == [], "they are two places, so neither speaks against the other"
    listed = visit.api.get(f"/api/v1/recipients/{visit.number}/measurements/{before['id']}").json()
    assert listed == before


def test_the_measuring_form_says_where_to_count_from_and_offers_what_was_measured_there(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    first = visit.page()
    assert f"Each level is counted from {ACROMION}." in first.text
    assert "The acromion to the end of the limb" in first.text
    assert "epicondyle" not in first.text
    fields = fields_of(first)
    # Two thirds of a long upper arm at eight are some 170 mm; above 80 mm is the armpit.
    assert [fields[f"residual_limb_girth-left-{n}-level"] for n in (1, 2, 3, 4)] == ["80", "120", "160", ""]

    typed = {"residual_limb_girth-left-1-1": "190", "residual_limb_girth-left-1-level": "75"}
    assert visit.send(typed).status_code == 303
    assert landmarks(visit) == [ACROMION]
    taken(visit.api, visit.number, girth(150, level_mm=40, landmark="the end of the limb"))
    again = visit.page()
    assert "190.0 mm on 2 March" in again.text
    assert [fields_of(again)[f"residual_limb_girth-left-{n}-level"] for n in (1, 2)] == ["75", ""]


def test_levels_reach_as_far_as_the_limb_was_measured_to(register: Register) -> None:
    visit = Visit(register, limbs=[limb("elbow")])
    levels = [f"residual_limb_girth-left-{n}-level" for n in (1, 2, 3, 4)]
    assert [fields_of(visit.page()).get(each) for each in levels] == ["80", "120", "160", ""]
    length = {"dimension": "residual_limb_length", "side": "left", "values": [130], "unit": "mm"}
    taken(visit.api, visit.number, length)
    assert [fields_of(visit.page()).get(each) for each in levels] == ["80", "120", "", None]


def test_a_page_says_that_a_reading_is_counted_from_the_acromion(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    reading = taken(visit.api, visit.number, girth(190, level_mm=80))["readings"][0]["id"]
    said = "eft residual limb girth at 80 mm from the acromion"
    assert f"L{said}, as measured" in visit.browser.get(f"/recipients/{visit.number}").text
    assert f"l{said} of Ines" in visit.browser.get(f"/recipients/{visit.number}/readings/{reading}/correct").text


@pytest.mark.parametrize(("level", "doubted"), [("forearm_lower", True), ("upper_arm_lower", False)])
def test_an_upper_arm_is_held_against_upper_arms(register: Register, level: str, *, doubted: bool) -> None:
    visit = Visit(register, limbs=[limb(level)], birth_date="1990-05-04", sex="male")
    # More than twice the usual forearm of a man is a surprise; an upper arm may just be so big.
    answer = visit.api.post(f"/api/v1/recipients/{visit.number}/measurements", json=session(girth(615, level_mm=80)))
    assert ("far from what is usual" in answer.text) is doubted
    assert answer.status_code == (422 if doubted else 201)


def test_the_other_arm_is_looked_at_when_left_and_right_may_be_swapped(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    sound = {"dimension": "upper_arm_girth", "side": "right", "level_mm": 80, "unit": "mm"}
    taken(visit.api, visit.number, girth(160, level_mm=80), {**sound, "values": [195]}, taken_on="2025-12-01")
    at = f"/api/v1/recipients/{visit.number}/measurements"
    (doubt,) = visit.api.post(at, json=session(girth(196, level_mm=80))).json()["doubts"]
    assert "Are left and right swapped?" in doubt["message"]
    assert "right upper arm girth at 80 mm" in doubt["message"]


def test_an_old_session_without_a_landmark_is_not_taken_for_one_from_the_acromion(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    taken(visit.api, visit.number, girth(150, level_mm=80), taken_on="2025-12-01")
    _as_before_the_acromion_was_meant(register)
    assert landmarks(visit) == [""]
    recorded = taken(visit.api, visit.number, girth(190, level_mm=80))
    assert recorded["readings"][0]["doubts"] == []
    assert (
        "left residual limb girth at 80 mm of Ines"
        in visit.browser.get(f"/recipients/{visit.number}/readings/1/correct").text
    )


def _as_before_the_acromion_was_meant(register: Register) -> None:
    """Readings as they were kept while a limb's usual landmark was the same for every limb."""
    with register.db.writing() as db:
        db.execute(sa.update(ReadingRow).values(landmark=""))


def test_a_limit_asks_for_its_level_from_the_acromion(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    at = f"/api/v1/recipients/{visit.number}/devices/{device(visit.api, visit.number)}/sockets"
    for level, asked in ((None, "how many mm from"), (600, "between 0 and 500 mm from")):
        limit = {**GIRTH, "level_mm": level}
        (error,) = visit.api.post(at, json={"fitted_on": "2026-03-02", "limits": [limit]}).json()["errors"]
        assert f"{asked} {ACROMION}." in error["message"]


def test_the_socket_form_and_the_device_page_count_from_the_acromion(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    taken(visit.api, visit.number, girth(190, level_mm=80), taken_on="2026-02-20")
    taken(visit.api, visit.number, girth(150, level_mm=40, landmark="the end of the limb"), taken_on="2026-02-20")
    everyday = device(visit.api, visit.number)
    page = f"/recipients/{visit.number}/devices/{everyday}"
    form = visit.browser.get(f"{page}/sockets/new")
    assert f"Each level is counted from {ACROMION}." in form.text
    assert "the limb 190.0 mm on 20 February" in form.text
    assert "150.0 mm" not in form.text
    assert "Breadth across the epicondyles</legend>" not in form.text, "an upper arm has none"
    socket(visit.api, visit.number, everyday, limits=[{**GIRTH, "level_mm": 80, "tight_at_mm": 205.0}])
    shown = visit.browser.get(page).text
    assert "residual limb girth at 80 mm from the acromion" in shown
    assert "15.0 mm" in shown, "the room left, from the reading there"


def test_a_limit_is_held_against_readings_from_the_acromion(register: Register) -> None:
    visit = Visit(register, limbs=[limb()])
    taken(visit.api, visit.number, girth(190, level_mm=80), taken_on="2026-02-20")
    taken(visit.api, visit.number, girth(150, level_mm=40, landmark="the end of the limb"), taken_on="2026-02-20")
    at = f"/api/v1/recipients/{visit.number}/devices/{device(visit.api, visit.number)}/sockets"

    def doubts(level: float, size: float) -> str:
        limit = {**GIRTH, "level_mm": level, "tight_at_mm": size}
        answer = visit.api.post(at, json={"fitted_on": "2026-03-02", "limits": [limit]}).json()
        return " ".join(each["message"] for each in answer["doubts"])

    assert "less than the limb itself measured there: 190.0 mm on 20 February" in doubts(80, 160)
    assert "never measured at 8 mm, only at 80 mm" in doubts(8, 200)


@pytest.mark.parametrize("old", [False, True], ids=["as kept now", "as kept before"])
def test_a_reading_at_the_limit_is_a_sign_that_the_socket_is_tight(register: Register, *, old: bool) -> None:
    visit = Visit(register, limbs=[limb()])
    limit = {**GIRTH, "level_mm": 80, "tight_at_mm": 205.0}
    socket(visit.api, visit.number, device(visit.api, visit.number), limits=[limit])
    taken(visit.api, visit.number, girth(206, level_mm=80), taken_on="2026-02-20", confirmed=True)
    elsewhere = girth(230, level_mm=80, landmark="the end of the limb")
    taken(visit.api, visit.number, elsewhere, taken_on="2026-02-21", confirmed=True)
    if old:
        with register.db.writing() as db:
            db.execute(sa.update(ReadingRow).where(ReadingRow.landmark == ACROMION).values(landmark=""))
    said = visit.browser.get(f"/recipients/{visit.number}").text
    assert "measured tight on" in said
    assert "206.0 mm" in said
    (item,) = visit.api.get("/api/v1/work-list", params={"kind": "socket_due"}).json()["items"]
    assert item["sign"]["size_mm"] == 206.0
    assert item["sign"]["place"] == "left residual limb girth at 80 mm" + ("" if old else " from the acromion")

    taken(visit.api, visit.number, girth(199, level_mm=80))
    assert "measured tight on" not in visit.browser.get(f"/recipients/{visit.number}").text
