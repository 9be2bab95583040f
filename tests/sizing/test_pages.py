"""The page of the next size, as a browser gets it."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.sizing.answers import InsideOut, LevelOut, MonthsOut
from service.sizing.drawing import MARGIN, NEAREST, upright
from tests.casefile.test_pages import as_somebody, words
from tests.conftest import Register
from tests.devices.worn import device, made, opened, socket
from tests.sizing.files import cone_version, limb, printed
from tests.sizing.test_register import LIMITS, measured, next_sizes


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    return as_somebody(register, Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    """A case whose socket and limb are known at two levels."""
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number), limits=LIMITS)
    measured(coordinator, number, (30, 180.0), (60, 170.5))
    return number


def test_the_page_says_first_what_the_api_says(coordinator: TestClient, browser: TestClient, number: str) -> None:
    (found,) = next_sizes(coordinator, number)
    said = words(browser, f"/recipients/{number}/next-size")
    assert found["sentence"] in said
    assert found["flat"]["sentence"] in said
    for level in found["levels"]:
        assert f"{level['room_mm']:.1f} mm, about {level['months']['p50']:.0f} months" in said
        assert f"{level['limb_mm']:.1f} {level['inside_now_mm']:.1f} {level['inside_mm']:.1f}" in said
    assert "judged on the limb, by whoever is entitled to where you are" in said


def test_a_socket_from_a_file_shows_the_file_and_leads_to_it(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator)
    of = cone_version(register, number)
    measured(coordinator, number, *((int(level), girth) for level, girth in limb(0.99, 30, 60).items()))
    printed(coordinator, number, device(coordinator, number), of, scale_across=1.05)
    (found,) = next_sizes(coordinator, number)
    path = f"/recipients/{number}/next-size"
    said, html = words(browser, path), browser.get(path).text
    assert "worn now at 1.050 across and 1.000 along of that file" in said
    assert "has not been rescaled for this limb yet" in said
    assert f"{found['next']['of_last']['across']:.3f} {found['next']['of_base']['across']:.3f}" in said
    assert found["features"][0]["sentence"] in said
    assert found["plastic"]["sentence"] in said
    page = found["file"]["print"].replace("/api/v1/part-versions/", "/parts/versions/").replace("&", "&amp;")
    assert f'href="{page}"' in html
    assert f'href="/parts/versions/{of}"' in html
    assert html.count("<polyline") == 2
    assert "does not go into the printer" in words(browser, f"{path}?printer=90+x+90+x+90")


def test_other_months_socks_and_sizes_can_be_tried(browser: TestClient, number: str) -> None:
    address = f"/recipients/{number}/next-size?months=6&socks=1&across=1.3"
    said = words(browser, address)
    assert "it lasts the 6 months wanted" in said
    assert "The size you try would be too loose on day one, even with one 5-ply sock" in said
    form = browser.get(address).text
    assert re.search(r'<option value="6" selected>', form)
    assert 'value="1.3"' in form


def test_the_hands_owner_and_a_clinician_have_their_say(
    coordinator: TestClient, browser: TestClient, number: str
) -> None:
    hand = {"dimension": "hand_length", "side": "right", "values": [150], "unit": "mm"}
    body = {"taken_on": "2026-03-01", "method": "tape", "readings": [hand], "confirmed": True}
    made(coordinator, f"recipients/{number}/measurements", body)
    usual, smaller = (
        re.search(r"Make the printed hand (\d+) mm long", words(browser, f"/recipients/{number}/next-size{asked}"))
        for asked in ("", "?hand=-10")
    )
    assert usual is not None
    assert smaller is not None
    assert int(smaller[1]) == pytest.approx(0.9 * int(usual[1]), abs=1)
    said = words(browser, f"/recipients/{number}/next-size?recast=true")
    assert "Take a new shape rather than print the old one larger, since a clinician asks for a new shape." in said


def test_what_is_lacking_is_asked_for_beside_the_button_that_measures(
    coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number), limits=LIMITS)
    said = words(browser, f"/recipients/{number}/next-size")
    assert "cannot be said yet" in said
    assert "Measure the residual limb girth at 30 mm and 60 mm" in said
    assert f'href="/recipients/{number}/measure"' in browser.get(f"/recipients/{number}/next-size").text


def test_whoever_wears_two_gets_both(coordinator: TestClient, browser: TestClient, number: str) -> None:
    socket(coordinator, number, device(coordinator, number, purpose="swimming"), limits=LIMITS)
    said = words(browser, f"/recipients/{number}/next-size")
    assert "Left, everyday" in said
    assert "Left, swimming" in said


def test_without_a_socket_the_page_says_what_to_do(coordinator: TestClient, browser: TestClient) -> None:
    said = words(browser, f"/recipients/{opened(coordinator)}/next-size")
    assert "no socket in place" in said
    assert "Record the socket that is worn" in said


def test_a_case_that_is_not_theirs_is_not_there(register: Register, number: str) -> None:
    for somebody in (as_somebody(register, Role.COORDINATOR, site="island"), as_somebody(register, Role.VOLUNTEER)):
        assert somebody.get(f"/recipients/{number}/next-size").status_code == 404


def test_a_wish_that_cannot_be_is_answered_in_words(browser: TestClient, number: str) -> None:
    answer = browser.get(f"/recipients/{number}/next-size?months=soon")
    assert answer.status_code == 422
    assert "Write a whole number" in answer.text


def level(at: float, limb: float, inside: float) -> LevelOut:
    return LevelOut(
        dimension="residual_limb_girth",
        level_mm=at,
        basis="measured",
        limb_mm=limb,
        limb_low_mm=limb - 2,
        limb_high_mm=limb + 2,
        inside_mm=inside,
        room_mm=inside - limb,
        months=MonthsOut(p10=1, p50=2, p90=3),
        sentence="",
    )


def test_the_drawing_is_to_scale_down_the_limb_and_across_the_room() -> None:
    drawn = upright([level(30, 180, 190), level(60, 170, 175), level(120, 160, 165)])
    assert drawn is not None
    first, second, third = drawn.rows
    assert (third.y - second.y) == pytest.approx(2 * (second.y - first.y), abs=0.2)
    a_mm = (first.next - drawn.bare) / 10
    assert second.next - drawn.bare == pytest.approx(5 * a_mm, abs=0.02)
    assert first.smear_width == pytest.approx(4 * a_mm, abs=0.02)
    assert all(0 <= row.smear_start < row.next <= 100 for row in drawn.rows)


def test_rows_too_near_are_moved_apart_and_then_no_scale_is_drawn() -> None:
    drawn = upright([level(30, 180, 190), level(36, 180, 190), level(200, 160, 170)])
    assert drawn is not None
    ys = [row.y for row in drawn.rows]
    assert all(later - earlier >= NEAREST - 1 for earlier, later in pairwise(ys))
    assert drawn.ticks == ()
    assert drawn.height == ys[-1] + MARGIN


def test_the_inside_is_drawn_between_the_levels_measured() -> None:
    def through(at: float, limb: float | None, inside: float) -> InsideOut:
        return InsideOut(
            level_mm=at, inside_mm=inside, inside_now_mm=inside - 2, limb_mm=limb, room_mm=limb and inside - limb
        )

    inside = [through(20, None, 195), through(30, 180, 190), through(45, 175, 187), through(60, 170, 175)]
    drawn = upright([level(30, 180, 190), level(60, 170, 175)], inside)
    assert drawn is not None
    points = [tuple(map(float, point.split(","))) for point in drawn.inside.split()]
    first, last = drawn.rows
    assert points[0] == pytest.approx((first.next, first.y), abs=0.1)
    assert points[2] == pytest.approx((last.next, last.y), abs=0.1)
    a_mm = (first.next - drawn.bare) / 10
    assert points[1] == pytest.approx((drawn.bare + 12 * a_mm, (first.y + last.y) / 2), abs=0.1)
    assert len(drawn.inside_now.split()) == 3
    assert upright([level(30, 180, 190)], inside).inside == ""  # type: ignore[union-attr]


def test_nothing_compared_is_nothing_drawn() -> None:
    assert upright([]) is None


def test_the_case_leads_to_it(browser: TestClient, number: str) -> None:
    assert f'href="/recipients/{number}/next-size"' in browser.get(f"/recipients/{number}").text
