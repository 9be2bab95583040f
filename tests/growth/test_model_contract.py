"""The stateless contract: what is taken, what is refused and how, and what comes back."""

from __future__ import annotations

import json
from copy import deepcopy
from typing import Any

import pytest
from pydantic import ValidationError

from service.growth.model import MODEL
from service.growth.schemas import ForecastAnswer, ForecastCase
from service.growth.stateless import answer

EXAMPLE: dict[str, Any] = ForecastCase.model_json_schema()["examples"][0]


def test_the_documented_example_is_answered_in_the_documented_shape() -> None:
    found = answer(ForecastCase.model_validate(EXAMPLE))
    documented = ForecastAnswer.model_json_schema()["examples"][0]
    said = json.loads(found.model_dump_json())
    assert said.keys() == documented.keys()
    assert said["due"].keys() == documented["due"].keys()
    assert said["within"].keys() == documented["within"].keys()
    assert said["limiting"].keys() == documented["limiting"].keys()
    assert said["curve"][0].keys() == documented["curve"][0].keys()
    assert said["case_id"] == EXAMPLE["case_id"]
    assert said["model"] == MODEL
    assert said["due"]["p10"] < said["due"]["p50"] < said["due"]["p90"]


def test_the_answer_comes_with_a_sentence() -> None:
    sentence = answer(ForecastCase.model_validate(EXAMPLE)).explanation
    assert "181 mm" in sentence


def test_text_and_parsed_json_are_read_alike() -> None:
    assert ForecastCase.model_validate_json(json.dumps(EXAMPLE)) == ForecastCase.model_validate(EXAMPLE)


@pytest.mark.parametrize("left_out", ["readings", "device", "sock_reports"])
def test_what_is_not_known_may_be_left_out(left_out: str) -> None:
    case = {key: value for key, value in EXAMPLE.items() if key != left_out}
    assert answer(ForecastCase.model_validate(case)).model == MODEL


def reading(**changed: Any) -> dict[str, Any]:
    return {"readings": [EXAMPLE["readings"][0] | changed]}


def limit(**changed: Any) -> dict[str, Any]:
    return {"device": {"limits": [EXAMPLE["device"]["limits"][0] | changed]}}


def socks(**changed: Any) -> dict[str, Any]:
    return {"sock_reports": [EXAMPLE["sock_reports"][0] | changed]}


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        (reading(value_mm=float("nan")), "finite number"),
        (reading(value_mm=float("inf")), "finite number"),
        (reading(value_mm=-171.0), "greater than 0"),
        (reading(value_mm="171"), "valid number"),
        (reading(value_mm=True), "valid number"),
        (reading(value_mm=1810.0), "not possible: give it in mm, between 40 and 700"),
        (reading(value_mm=None), "Give the residual limb girth as value_mm"),
        (reading(dimension="weight"), "Give the weight as value_kg"),
        (reading(dimension="waist"), "residual_limb_girth"),
        (reading(value_kg=3.0), "no value_kg"),
        (reading(level_mm=-5), "greater than or equal to 0"),
        (reading(side="both"), "'left' or 'right'"),
        (reading(on="2016-04-01"), "before the birth date"),
        (reading(on="1 March 2026"), "date"),
        (reading(on=20260301), "year-month-day"),
        (reading(method="guess"), "'tape'"),
        (reading(valeu_mm=3), "Extra inputs are not permitted"),
        (limit(tight_at_mm=0), "greater than 0"),
        (limit(tight_at_mm=18.1), "not possible"),
        (limit(dimension="weight"), "give a dimension of the limb"),
        ({"device": {"limits": [EXAMPLE["device"]["limits"][0]] * 21}}, "at most 20"),
        (socks(plies=[0]), "greater than or equal to 1"),
        (socks(plies=[3] * 9), "at most 8"),
        (socks(fit="perfect"), "'snug'"),
        ({"sex": "f"}, "'female'"),
        ({"as_of": "2016-04-01"}, "before the birth date"),
        ({"as_of": "9999-12-31"}, "Write a date between"),
        ({"birth_date": "1890-01-01"}, "Nobody is older than 120"),
        ({"birth_date": None}, "year-month-day"),
        ({"case_id": ""}, "at least 1 character"),
    ],
)
def test_what_cannot_be_right_is_refused_with_what_to_do(changed: dict[str, Any], says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        ForecastCase.model_validate(deepcopy(EXAMPLE) | changed)
