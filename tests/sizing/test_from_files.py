"""The next size of a socket printed from a file that the register holds, over HTTP and by hand."""

from __future__ import annotations

from math import pi
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.parts.rules import PartKind, VersionState
from tests.assembly.things import a_device, design, figures, version, withdraw
from tests.conftest import Register
from tests.devices.worn import socket
from tests.sizing.files import cone, cone_version, inside, limb, measured, printed
from tests.sizing.test_register import LIMITS, next_sizes


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def case(coordinator: TestClient) -> tuple[str, int]:
    return a_device(coordinator)


def one(client: TestClient, number: str, query: str = "") -> dict[str, Any]:
    (found,) = next_sizes(client, number, query)
    return found


def test_scales_are_of_the_file_and_beside_the_last_print(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    of = cone_version(register, case[0])
    measured(coordinator, case[0], limb(0.99, 30, 60, 90))
    worn = printed(coordinator, *case, of, scale_across=1.05, scale_along=1.02)["socket"]["id"]
    found = one(coordinator, case[0])
    assert (found["socket"], found["device"]) == (worn, case[1])
    file = found["file"]
    assert (file["version"], file["state"], file["rescales"], file["liner_mm"]) == (of, "released", 0, 0.0)
    assert (file["worn"], file["material"]) == ({"across": 1.05, "along": 1.02}, "PETG")

    scales = found["next"]["of_base"]
    assert scales["across"] == pytest.approx(1.05 * found["next"]["of_last"]["across"], abs=2e-4)
    assert scales["along"] == pytest.approx(1.02 * found["next"]["of_last"]["along"], abs=2e-4)
    assert found["next"]["verdict"] == "fits"
    assert f"{scales['across']:.3f} across" in found["sentence"]
    girths = [each for each in found["levels"] if each["basis"] == "measured"]
    assert [each["level_mm"] for each in girths] == [30, 60, 90]
    for each in girths:
        level = each["level_mm"]
        assert each["inside_mm"] == pytest.approx(scales["across"] * inside(level / scales["along"]), abs=0.1)
        assert each["inside_now_mm"] == pytest.approx(1.05 * inside(level / 1.02), abs=0.06)
        assert each["room_mm"] == pytest.approx(each["inside_mm"] - each["limb_mm"], abs=0.11)
    address = f"/api/v1/part-versions/{of}/file?"
    asked = f"scale_across={scales['across']:.4f}&scale_along={scales['along']:.4f}&case={case[0]}"
    assert file["print"] == address + asked
    assert not any("does not hold the file" in each for each in found["warnings"])


def test_the_inside_goes_level_by_level_through_the_files_own_profile(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], limb(0.99, 30, 90))
    printed(coordinator, *case, cone_version(register, case[0], liner=1.0), scale_across=1.1)
    found = one(coordinator, case[0])
    scales, rows = found["next"]["of_base"], found["inside"]
    assert [each["level_mm"] for each in rows] == [round(level * scales["along"], 1) for level, _ in cone()]
    limbs = {each["level_mm"]: each["limb_mm"] for each in found["levels"] if each["basis"] == "measured"}
    for each in rows:
        base = each["level_mm"] / scales["along"]
        assert each["inside_mm"] == pytest.approx(scales["across"] * inside(base), abs=0.1)
        assert each["inside_now_mm"] == pytest.approx(1.1 * inside(each["level_mm"]), abs=0.1)
        if 30 <= each["level_mm"] <= 90:
            share = (each["level_mm"] - 30) / 60
            assert each["limb_mm"] == pytest.approx(limbs[30] + share * (limbs[90] - limbs[30]), abs=0.11)
            assert each["room_mm"] == pytest.approx(each["inside_mm"] - 2 * pi - each["limb_mm"], abs=0.16)
        elif not 25 <= each["level_mm"] <= 95:
            assert each["limb_mm"] is each["room_mm"] is None


def test_the_liner_worn_is_what_the_limits_leave_of_the_inside(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], limb(0.9, 30, 60))
    of = cone_version(register, case[0], liner=0.5)
    printed(coordinator, *case, of, scale_across=1.05, liner_mm=3.0)
    found = one(coordinator, case[0])
    assert found["file"]["liner_mm"] == 3.0
    assert any("liner of 3 mm, not the 0.5 mm" in each for each in found["warnings"])
    girths = [each for each in found["levels"] if each["basis"] == "measured"]
    assert [each["level_mm"] for each in girths] == [30, 60]
    for each in girths:
        assert each["room_mm"] == pytest.approx(each["inside_mm"] - 6 * pi - each["limb_mm"], abs=0.11)


def test_two_rescales_of_a_shape_ask_for_a_new_one_and_a_reprint_is_none(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], limb(1.05, 30, 60, 90))
    of, other = cone_version(register, case[0]), cone_version(register, case[0])
    worn = [("2024-01-10", other, 0.9), ("2024-06-01", of, 1.0), ("2025-01-10", of, 1.0), ("2025-06-01", of, 1.05)]
    found: dict[str, Any] = {}
    said = list[tuple[int, str]]()
    for day, from_version, scale in [*worn, ("2026-01-12", of, 1.1), ("2026-02-12", of, 1.1)]:
        before: dict[str, Any] = {"previous": {"end_reason": "outgrown"}} if said else {}
        printed(coordinator, *case, from_version, fitted_on=day, scale_across=scale, **before)
        found = one(coordinator, case[0])
        said.append((found["file"]["rescales"], found["shape"]["verdict"]))
    assert said == [(0, "rescale"), (0, "rescale"), (0, "rescale"), (1, "rescale"), (2, "recast"), (2, "recast")]
    assert "rescaled 2 times" in found["shape"]["why"][0]
    assert found["sentence"].startswith("Take a new shape")


def test_a_limb_that_is_no_scaled_copy_any_more_asks_for_a_new_shape(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    of = cone_version(register, case[0])
    measured(coordinator, case[0], {**limb(1.0, 30, 60), 90: round(1.09 * inside(90), 1)})
    printed(coordinator, *case, of, scale_across=1.12)
    found = one(coordinator, case[0])
    assert found["shape"]["verdict"] == "recast"
    assert "larger at 90 mm than at" in " ".join(found["shape"]["why"])
    asked = one(coordinator, case[0], "?recast=true")
    assert asked["shape"]["why"][0] == "A clinician asks for a new shape."


def test_a_length_said_of_the_socket_becomes_the_files(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], limb(0.99, 30, 60), residual_limb_length=118)
    length = {"dimension": "residual_limb_length", "tight_at_mm": 121}
    printed(coordinator, *case, cone_version(register, case[0]), scale_across=1.05, scale_along=1.1, limits=[length])
    found = one(coordinator, case[0])
    longest = next(each for each in found["levels"] if each["dimension"] == "residual_limb_length")
    assert longest["inside_now_mm"] == pytest.approx(121, abs=0.06)
    assert found["next"]["of_base"]["along"] > 1.1
    assert longest["inside_mm"] == pytest.approx(110 * found["next"]["of_base"]["along"], abs=0.06)
    assert not any("inside length is not known" in each for each in found["warnings"])


def test_bores_walls_plastic_and_the_printer_are_those_of_the_file(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], limb(0.85, 30, 60))
    printed(coordinator, *case, cone_version(register, case[0], wall=0.85, materials=["PLA"]), scale_across=0.9)
    found = one(coordinator, case[0], "?printer=100+x+100+x+100")
    scales = found["next"]["of_base"]
    bore, coupling = found["features"]
    assert bore["comes_out_mm"] == pytest.approx(3 * scales["across"], abs=2e-3)
    assert (bore["needed_mm"], bore["passes"]) == (3.2, False)
    assert "drill or ream it to 3.20 mm" in bore["sentence"]
    assert coupling["comes_out_mm"] == pytest.approx(20 * scales["along"], abs=2e-3)
    assert found["box_mm"] == pytest.approx([66 * scales["across"], 66 * scales["across"], 130], abs=0.06)
    assert any("does not go into the printer" in each for each in found["cautions"])
    assert any("two widths of the 0.4 mm nozzle" in each for each in found["cautions"])
    assert found["plastic"]["mass_g"] == pytest.approx(found["plastic"]["plastic_mm3"] * 1.24e-3, abs=0.06)  # PLA
    roomy = one(coordinator, case[0], "?printer=220,5x220x250")
    assert not any("printer" in each for each in roomy["cautions"])
    for wrong in ("100x100", "0x100x100", "large", "1x2x3x4"):
        refused = coordinator.get(f"/api/v1/recipients/{case[0]}/next-size?printer={wrong}")
        assert refused.status_code == 422
        assert "three lengths in mm" in refused.text


def test_many_levels_of_a_file_ask_for_a_few_and_for_none_beyond_the_limb(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    of = cone_version(register, case[0], profile=cone(step=1))
    measured(coordinator, case[0], limb(0.99, 30, 50), residual_limb_length=95)
    printed(coordinator, *case, of, scale_across=1.02)
    found = one(coordinator, case[0])
    assert any("at 0 mm and 80 mm from the lateral epicondyle:" in each for each in found["asks"])
    unmeasured = [each["level_mm"] for each in found["levels"] if each["basis"] == "not measured"]
    assert unmeasured == [0, 80]
    assert len(found["inside"]) == 121


def test_an_inside_that_closes_or_reaches_over_the_landmark_is_used_where_a_limb_can_be(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    odd = [(-12.0, 196.0), *cone(), (124.0, 60.0), (128.0, 12.0), (129.0, 0.4)]
    measured(coordinator, case[0], limb(0.99, 30, 60))
    printed(coordinator, *case, cone_version(register, case[0], profile=odd), levels=[30, 60])
    found = one(coordinator, case[0])
    assert found["next"]["verdict"] == "fits"
    assert [each["level_mm"] for each in found["inside"]][-1] == 124.0


def test_a_withdrawn_file_is_not_offered_for_printing(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], limb(0.99, 30, 60))
    of, better = cone_version(register, case[0]), cone_version(register, case[0])
    printed(coordinator, *case, of)
    withdraw(register, of, better)
    found = one(coordinator, case[0])
    assert (found["file"]["state"], found["file"]["print"]) == ("withdrawn", None)
    assert any("was withdrawn: print nothing more from it. Look at" in each for each in found["warnings"])


def test_a_socket_from_a_design_is_sized_from_its_file_too(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    of_design = design(register, "Short sleeve socket", PartKind.SOCKET)
    lies = {"dimension": "residual_limb_girth", "level_at_origin_mm": 0.0, "liner_mm": 0.0}
    of = version(register, design_id=of_design, inside=lies, geometry=figures(cone()), materials=["PETG"])
    measured(coordinator, case[0], limb(0.99, 30, 60))
    printed(coordinator, *case, of, scale_across=1.03)
    found = one(coordinator, case[0])
    assert (found["file"]["design"], found["file"]["shape"]) == (of_design, None)
    assert found["next"]["of_base"]["across"] == pytest.approx(1.03 * found["next"]["of_last"]["across"], abs=2e-4)


def test_a_socket_from_elsewhere_is_sized_beside_itself_as_before(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    cone_version(register, case[0])
    socket(coordinator, *case, limits=LIMITS)
    measured(coordinator, case[0], {30: 180.0, 60: 170.5})
    found = one(coordinator, case[0])
    assert (found["file"], found["inside"], found["box_mm"]) == (None, [], None)
    assert found["next"]["of_base"] is None
    assert any("does not hold the file of this socket" in each for each in found["warnings"])


def test_levels_of_a_limb_that_ends_above_the_elbow_are_counted_from_the_acromion(
    register: Register, coordinator: TestClient
) -> None:
    arm = {"side": "left", "cause": "congenital", "level": "upper_arm_middle"}
    number, worn = a_device(coordinator, limbs=[arm])
    measured(coordinator, number, limb(0.99, 60))
    printed(coordinator, number, worn, cone_version(register, number), scale_across=1.05)
    found = one(coordinator, number)
    assert found["landmark"] == "the acromion"
    assert any("from the acromion:" in each for each in found["asks"])


def test_a_draft_may_be_worn_by_nobody_so_only_released_files_size_a_socket(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    draft = cone_version(register, case[0], state=VersionState.DRAFT, released_at=None)
    where = f"/api/v1/recipients/{case[0]}/devices/{case[1]}/sockets/printed"
    body = {"fitted_on": "2026-01-12", "version": draft, "confirmed": True}
    assert coordinator.post(where, json=body).status_code in {409, 422}
    assert next_sizes(coordinator, case[0]) == []
