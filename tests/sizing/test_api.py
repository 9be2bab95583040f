"""The next size of figures somebody sends, over HTTP."""

from __future__ import annotations

from datetime import date, timedelta
from math import pi
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.sizing.model.fit import FIT_TOLERANCE_MM, ROUND
from service.sizing.model.socks import thickness_mm
from service.sizing.schemas import AskSize
from tests.conftest import Register
from tests.sizing.asking import girth, profile, question


@pytest.fixture
def trustee(register: Register) -> TestClient:
    return register.api(Role.TRUSTEE)


def asked(client: TestClient, **changes: Any) -> dict[str, Any]:
    answer = client.post("/api/v1/sizes", json=question(**changes))
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_the_next_size_is_the_largest_that_fits_on_day_one(trustee: TestClient) -> None:
    found = asked(trustee)
    chosen = found["next"]
    assert chosen["verdict"] == "fits"
    assert found["day_one"] == str(date(2026, 3, 2) + timedelta(days=28))
    girths = [each for each in found["levels"] if each["level_mm"] is not None]
    assert [each["level_mm"] for each in girths] == [40, 80]
    worn = ROUND * thickness_mm(chosen["socks"])
    filled = [each["inside_mm"] - each["limb_mm"] - worn for each in girths]
    assert filled == pytest.approx([each["left_mm"] for each in girths], abs=0.15)
    assert max(filled) == pytest.approx(FIT_TOLERANCE_MM, abs=0.15)
    assert chosen["of_base"]["across"] == pytest.approx(1.05 * chosen["of_last"]["across"], abs=2e-4)
    assert girths[0]["inside_mm"] == pytest.approx(178.0 * chosen["of_base"]["across"], abs=0.06)
    assert "wider than the last print" in found["sentence"]


def test_across_and_along_go_their_own_ways(trustee: TestClient) -> None:
    roomy = asked(trustee)
    assert roomy["next"]["of_last"]["along"] == 1.0  # 130 mm is long enough for a limb of 110: it never shrinks
    assert roomy["next"]["of_last"]["across"] > 1.02
    short = asked(trustee, base_inside_sizes=[{"dimension": "residual_limb_length", "size_mm": 111.0}])
    assert 1.0 < short["next"]["of_last"]["along"] < 1.1
    assert short["next"]["of_last"]["across"] == pytest.approx(roomy["next"]["of_last"]["across"], abs=0.01)


def test_five_per_cent_stands_beside_it_with_its_months_and_socks(trustee: TestClient) -> None:
    found = asked(trustee)
    flat = found["flat"]
    assert flat["of_last"] == {"across": 1.05, "along": 1.05}
    months = flat["months"]
    assert months["p10"] < months["p50"]
    assert "5 % larger" in flat["sentence"]
    larger = asked(trustee, try_across=1.2)["tried"]
    assert larger["verdict"] == "loose"
    assert (larger["months"]["p50"] or 99) > (flat["months"]["p50"] or 99) or larger["months"]["p50"] is None


def test_the_socket_worn_now_lasts_as_long_as_its_forecast_says(trustee: TestClient) -> None:
    case = question()["case"]
    case["readings"] = [girth(40, 176.5, "2025-09-01"), girth(40, 180.0)]
    worn = {"inside_profile": profile((40, 187.0)), "is_last_print": True}
    now = asked(trustee, case=case, base=worn, last={}, fitted_in_days=0, try_across=1.0)["tried"]
    forecast = trustee.post("/api/v1/forecasts", json={"cases": [case]}).json()["items"][0]
    for quantile in ("p10", "p50"):
        days = (date.fromisoformat(forecast["due"][quantile]) - date.fromisoformat(case["as_of"])).days
        assert now["months"][quantile] == pytest.approx(days * 12 / 365.25, abs=0.1)


def test_fewer_months_wanted_make_a_smaller_socket_that_lasts_them(trustee: TestClient) -> None:
    found = asked(trustee, wanted_months=4)
    assert found["next"]["lasts"] == pytest.approx(0.9, abs=0.02)
    assert found["next"]["of_last"]["across"] < found["largest"]["of_last"]["across"]
    assert found["largest"]["of_last"]["across"] == pytest.approx(asked(trustee)["next"]["of_last"]["across"], abs=1e-4)
    assert "it lasts the 4 months wanted" in found["sentence"]
    most = asked(trustee, wanted_months=24)
    assert most["largest"] is None  # it is the largest already
    assert most["next"]["lasts"] < 0.9


def test_a_site_that_has_no_socks_starts_with_none(trustee: TestClient) -> None:
    found = asked(trustee, socks={"plies": [], "most_worn": 0})
    assert found["next"]["socks"] == []
    assert "no sock" in found["sentence"]
    assert found["next"]["of_last"]["across"] < asked(trustee)["next"]["of_last"]["across"]


def test_a_liner_takes_its_room(trustee: TestClient) -> None:
    bare, lined = asked(trustee), asked(trustee, liner_mm=3.0)
    more = lined["levels"][0]["inside_mm"] - bare["levels"][0]["inside_mm"]
    assert more == pytest.approx(2 * pi * 3, abs=1.0)
    assert lined["levels"][0]["room_mm"] == pytest.approx(bare["levels"][0]["room_mm"], abs=1.0)


def test_the_limb_is_the_same_whatever_it_is_printed_from(trustee: TestClient) -> None:
    # The sock reports speak of the socket worn now, not of the one that is asked about.
    here = asked(trustee)["levels"]
    other = asked(trustee, base_inside_profile=profile((40, 356.0), (80, 332.0)))
    assert [each["limb_mm"] for each in other["levels"]] == [each["limb_mm"] for each in here]
    single = asked(trustee)["next"]["of_base"]["across"]
    assert other["next"]["of_base"]["across"] == pytest.approx(single / 2, abs=2e-4)
    assert any("far from the base" in each for each in other["cautions"])


def test_where_nobody_measured_nothing_is_guessed_and_a_reading_is_asked_for(trustee: TestClient) -> None:
    found = asked(trustee, base_inside_profile=profile((10, 190.0), (40, 178.0), (60, 172.0), (80, 166.0)))
    at = {each["level_mm"]: each for each in found["levels"] if each["level_mm"] is not None}
    assert (at[10]["basis"], at[10]["limb_mm"], at[10]["room_mm"]) == ("not measured", None, None)
    assert at[60]["basis"] == "between readings"
    assert at[40]["limb_mm"] > at[60]["limb_mm"] > at[80]["limb_mm"]
    assert at[60]["room_mm"] is None
    assert any("at 10 mm from the lateral epicondyle" in each for each in found["asks"])
    beyond = asked(trustee, base_inside_profile=profile((40, 178.0)))
    assert {each["level_mm"]: each["basis"] for each in beyond["levels"]}[80] == "inside not known"


def test_an_inside_taken_a_little_off_is_used_and_said(trustee: TestClient) -> None:
    found = asked(trustee, base_inside_profile=profile((40, 178.0), (72, 168.0)))
    at_80 = next(each for each in found["levels"] if each["level_mm"] == 80)
    assert at_80["basis"] == "measured"
    assert "taken 8 mm from here" in at_80["sentence"]


def test_a_side_left_out_of_a_limit_is_the_sockets(trustee: TestClient) -> None:
    case = question()["case"]
    del case["device"]["limits"][0]["side"]
    assert asked(trustee, case=case, base_side="left") == asked(trustee)


def test_the_other_hand_being_measured_does_not_stand_for_this_one(trustee: TestClient) -> None:
    sizes = [{"dimension": "hand_breadth", "size_mm": 75.0}]
    assert (
        "Measure the hand breadth: the socket is known there, and the limb is not."
        in asked(trustee, base_inside_sizes=sizes)["asks"]
    )


def test_without_a_reading_no_size_is_given(trustee: TestClient) -> None:
    case = {**question()["case"], "readings": []}
    found = asked(trustee, case=case)
    assert (found["next"], found["flat"], found["levels"]) == (None, None, [])
    assert "cannot be said yet" in found["sentence"]
    assert any("40 mm and 80 mm" in each for each in found["asks"])
    assert any("hand length" in each for each in found["asks"])
    assert found["shape"]["verdict"] == "cannot tell"


def test_old_readings_are_asked_for_again(trustee: TestClient) -> None:
    case = {**question()["case"], "readings": [girth(40, 176.5, "2024-09-01"), girth(80, 168.0)]}
    assert any("at 40 mm again" in each for each in asked(trustee, case=case)["asks"])


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, None),
        ({"last_rescales": 2}, "rescaled 2 times"),
        ({"clinician_asks_to_recast": True}, "clinician asks"),
        (
            {"base_inside_profile": profile((40, 178.0), (80, 150.0))},
            "changed shape",
        ),
    ],
)
def test_a_new_shape_is_advised_with_its_reason(trustee: TestClient, changes: dict[str, Any], said: str | None) -> None:
    found = asked(trustee, **changes)
    assert found["shape"]["verdict"] == ("recast" if said else "rescale")
    if said:
        assert any(said in why for why in found["shape"]["why"])
        assert found["sentence"].startswith("Take a new shape")


def test_what_must_not_scale_is_said_with_what_to_do(trustee: TestClient) -> None:
    found = asked(trustee)
    scale = found["next"]["of_base"]
    bore, coupling = found["features"]
    assert bore["comes_out_mm"] == pytest.approx(3.0 * scale["across"], abs=2e-3)
    assert bore["needed_mm"] == 3.2
    assert coupling["comes_out_mm"] == pytest.approx(20.0 * scale["along"], abs=2e-3)
    small = asked(trustee, base_inside_profile=profile((40, 200.0), (80, 187.0)))
    bore = small["features"][0]
    assert not bore["passes"]
    assert "drill or ream it to 3.20 mm" in bore["sentence"]


def test_thin_walls_and_a_printer_too_small_are_said(trustee: TestClient) -> None:
    assert asked(trustee)["cautions"] == []
    found = asked(trustee, base_wall_mm=0.7, printing={"nozzle_mm": 0.4, "printer_mm": [120.0, 120.0, 120.0]})
    assert any("two widths of the 0.4 mm nozzle" in each for each in found["cautions"])
    assert any("does not go into the printer" in each for each in found["cautions"])


def test_plastic_time_and_cost_follow_the_scales(trustee: TestClient) -> None:
    found = asked(trustee, printing={"price_per_kg": 20.0, "hours_of_base": 5.0})
    plastic = found["plastic"]
    across = found["next"]["of_base"]["across"]
    assert across < plastic["of_base"] < across**2  # between a shell's and a solid's, the length being the same
    assert plastic["hours"] == pytest.approx(5.0 * plastic["of_base"], abs=0.06)
    assert plastic["cost"] == pytest.approx(plastic["mass_g"] / 1000 * 20, abs=0.02)
    assert plastic["mass_g"] == pytest.approx(plastic["filament_m"] * 2.9825, abs=0.1)
    assert asked(trustee, base_solid=None)["plastic"] is None


def test_a_hand_is_sized_by_the_sound_side_and_is_never_called_tight(trustee: TestClient) -> None:
    hand = asked(trustee)["hand"]
    assert hand["length_mm"] == pytest.approx(150, abs=2)
    assert hand["scales"]["across"] == pytest.approx(hand["breadth_mm"] / 70, abs=2e-3)
    assert hand["looks_small"]["p10"] < hand["looks_small"]["p50"]
    assert "tight" not in hand["sentence"]
    small = asked(trustee, hand_wish_percent=-5)["hand"]
    assert small["length_mm"] == pytest.approx(0.95 * hand["length_mm"], abs=0.1)
    assert small["looks_small"]["p50"] < hand["looks_small"]["p50"]
    worn = asked(trustee, hand_last_along=0.8)["hand"]
    assert "The hand worn now will look small from the first day" in worn["sentence"]


def test_the_same_question_has_the_same_answer(trustee: TestClient) -> None:
    assert asked(trustee) == asked(trustee)


def test_the_documented_example_is_answered(trustee: TestClient) -> None:
    example = AskSize.model_json_schema()["examples"][0]
    answer = trustee.post("/api/v1/sizes", json=example)
    assert answer.status_code == 200, answer.text
    assert answer.json()["next"] is not None


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"wanted_months": 0}, "wanted_months"),
        ({"wanted_months": 25}, "wanted_months"),
        ({"fitted_in_days": 366}, "fitted_in_days"),
        ({"liner_mm": -1.0}, "liner_mm"),
        ({"size": 3}, "size"),
        ({"last_scale_across": 0.0}, "last.scale_across"),
        ({"last_scale_across": "1.05"}, "last.scale_across"),
        ({"base_dimension": "height"}, "base"),
        ({"base_inside_profile": profile((40, 17.8))}, "base"),
        ({"base_inside_profile": profile((40, 178.0), (40, 170.0))}, "base"),
        ({"base_inside_sizes": [{"dimension": "height", "size_mm": 1200.0}]}, "base.inside_sizes.0"),
        ({"base_fixed_features": [{"kind": "window", "nominal_mm": 3.0}]}, "base.fixed_features.0.kind"),
        ({"base_solid": {"volume_mm3": 1e6, "area_mm2": 6.0, "box_mm": [10.0, 10.0, 10.0]}}, "base.solid"),
        ({"socks_plies": [0]}, "socks.plies.0"),
        ({"hand_wish_percent": 50}, "hand.wish_percent"),
        ({"case_as_of": "2010-01-01"}, "case"),
    ],
)
def test_what_cannot_be_right_is_refused_with_what_to_do(
    trustee: TestClient, changes: dict[str, Any], field: str
) -> None:
    answer = trustee.post("/api/v1/sizes", json=question(**changes))
    assert answer.status_code == 422
    assert field in [each["field"] for each in answer.json()["errors"]]


def test_nobody_asks_without_signing_in(register: Register) -> None:
    assert register.browser().post("/api/v1/sizes", json=question()).status_code == 401
