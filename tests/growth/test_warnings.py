"""What a forecast warns of, asked over HTTP as anybody may."""

from __future__ import annotations

from typing import Any

import pytest

from service.access.permissions import Role
from tests.conftest import Register

MONTHLY = ("2025-11-03", "2025-12-03", "2026-01-05", "2026-02-03")


def reading(on: str, level_mm: float) -> dict[str, Any]:
    return {"on": on, "dimension": "residual_limb_girth", "side": "left", "level_mm": level_mm, "value_mm": 170}


AT_30 = [reading(on, 30) for on in MONTHLY]


@pytest.mark.parametrize(
    ("readings", "warned"),
    [
        ([*AT_30, reading("2026-02-03", 60)], None),
        ([*AT_30, reading("2026-02-03", 33)], None),
        ([reading("2026-02-03", 60)], "at 60 mm, but the socket's limit is at 30 mm"),
        ([reading("2024-06-03", 30), reading("2026-02-03", 60)], "at 60 mm, but the socket's limit is at 30 mm"),
    ],
    ids=["measured at both", "measured close by", "measured elsewhere", "measured there long ago"],
)
def test_a_limit_is_less_sure_only_where_nothing_was_measured_lately(
    register: Register, readings: list[dict[str, Any]], warned: str | None
) -> None:
    limit = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 30, "tight_at_mm": 185}
    case = {
        "case_id": "a",
        "birth_date": "2018-05-04",
        "sex": "female",
        "as_of": "2026-03-02",
        "readings": readings,
        "device": {"fitted_on": "2025-11-03", "limits": [limit]},
    }
    answer = register.api(Role.TRUSTEE).post("/api/v1/forecasts", json={"cases": [case]}).json()
    said = [each for each in answer["items"][0]["warnings"] if "less sure" in each]
    assert len(said) == (warned is not None)
    assert not warned or warned in said[0]
