"""A question about the next size that everything is known for, to change from test to test."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

TODAY = "2026-03-02"


def girth(level_mm: float, value_mm: float, on: str = "2026-03-01", side: str = "left") -> dict[str, Any]:
    """A girth of the residual limb."""
    place = {"dimension": "residual_limb_girth", "level_mm": level_mm, "side": side}
    return {"on": on, **place, "value_mm": value_mm}


def profile(*levels: tuple[int, float]) -> list[dict[str, float]]:
    """An inside profile from levels and girths."""
    return [{"level_mm": level, "girth_mm": size} for level, size in levels]


QUESTION: dict[str, Any] = {
    "case": {
        "case_id": "A-17",
        "birth_date": "2016-04-02",
        "sex": "female",
        "as_of": TODAY,
        "readings": [
            girth(40, 176.5, "2025-09-01"),
            girth(40, 180.0),
            girth(80, 168.0),
            {"on": "2026-03-01", "dimension": "residual_limb_length", "side": "left", "value_mm": 110.0},
            {"on": "2026-03-01", "dimension": "hand_length", "side": "right", "value_mm": 150.0},
            {"on": "2026-03-01", "dimension": "hand_breadth", "side": "right", "value_mm": 68.0},
        ],
        "device": {
            "fitted_on": "2025-09-01",
            "limits": [{"dimension": "residual_limb_girth", "side": "left", "level_mm": 40, "tight_at_mm": 187.0}],
        },
        "sock_reports": [{"on": "2026-02-20", "plies": [1], "fit": "snug"}],
    },
    "base": {
        "inside_profile": profile((40, 178.0), (80, 166.0)),
        "inside_sizes": [{"dimension": "residual_limb_length", "size_mm": 130.0}],
        "wall_mm": 2.0,
        "fixed_features": [
            {"kind": "pin_bore", "nominal_mm": 3.0, "holds_mm": 3.0, "clearance_mm": 0.2},
            {"kind": "coupling", "nominal_mm": 20.0, "axis": "along"},
        ],
        "solid": {"volume_mm3": 60000.0, "area_mm2": 50000.0, "box_mm": [70.0, 70.0, 130.0]},
    },
    "last": {"scale_across": 1.05, "scale_along": 1.0, "rescales": 1},
    "socks": {"plies": [1, 3, 5], "most_worn": 2, "most_mm": 2.0},
    "hand": {"length_mm": 150.0, "breadth_mm": 70.0},
}


def question(**changes: Any) -> dict[str, Any]:
    """The question with some parts changed: `base_wall_mm=0.5` changes `wall_mm` of `base`."""
    asked = deepcopy(QUESTION)
    for name, value in changes.items():
        part, _, inner = name.partition("_")
        if part in asked and inner:
            asked[part][inner] = value
        else:
            asked[name] = value
    return asked
