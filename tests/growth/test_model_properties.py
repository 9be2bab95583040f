"""Whatever valid case comes, there is an answer and it holds together."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from service.anthropometry import CATALOGUE, Dimension
from service.growth.schemas import ForecastAnswer, ForecastCase
from service.growth.stateless import answer

BORN = date(1990, 2, 28)
DAYS = st.integers(0, 38_000).map(lambda days: BORN + timedelta(days=days))
LEVELS = st.none() | st.floats(0, 300)
SIDES = st.sampled_from([None, "left", "right"])


@st.composite
def sizes(draw: st.DrawFn, dimensions: list[Dimension]) -> dict[str, Any]:
    """A dimension and a size that some human has."""
    dimension = draw(st.sampled_from(dimensions))
    facts = CATALOGUE[dimension]
    return {"dimension": dimension, "size": draw(st.floats(facts.smallest, facts.largest))}


@st.composite
def readings(draw: st.DrawFn) -> dict[str, Any]:
    found = draw(sizes(list(Dimension)))
    unit = CATALOGUE[found["dimension"]].unit
    return {"on": draw(DAYS), "dimension": found["dimension"], f"value_{unit}": found["size"]} | {
        "level_mm": draw(LEVELS),
        "side": draw(SIDES),
        "method": draw(st.sampled_from([None, "tape", "cast", "scan", "clinic_letter", "family"])),
    }


@st.composite
def limits(draw: st.DrawFn) -> dict[str, Any]:
    found = draw(sizes([dimension for dimension in Dimension if CATALOGUE[dimension].needs_side]))
    return {"dimension": found["dimension"], "tight_at_mm": found["size"]} | {
        "level_mm": draw(LEVELS),
        "side": draw(SIDES),
    }


CASES = st.fixed_dictionaries(
    {
        "case_id": st.just("any"),
        "birth_date": st.just(BORN),
        "sex": st.sampled_from(["female", "male", "unspecified"]),
        "as_of": DAYS,
        "readings": st.lists(readings(), max_size=9),
        "device": st.none()
        | st.fixed_dictionaries({"fitted_on": st.none() | DAYS, "limits": st.lists(limits(), max_size=4)}),
        "sock_reports": st.lists(
            st.fixed_dictionaries(
                {
                    "on": DAYS,
                    "plies": st.lists(st.integers(1, 9), max_size=8),
                    "fit": st.sampled_from(["loose", "snug", "tight"]),
                }
            ),
            max_size=4,
        ),
    }
)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(CASES)
def test_every_valid_case_has_an_answer_that_holds_together(case: dict[str, Any]) -> None:
    asked = ForecastCase.model_validate(case)
    found = answer(asked)
    due = [day or date.max for day in (found.due.p10, found.due.p50, found.due.p90)]
    assert due == sorted(due)
    assert due[0] >= asked.as_of
    chances = [found.already, *(found.within[days] for days in ("30", "90", "180", "365"))]
    assert chances == sorted(chances)
    assert 0 <= chances[0] <= chances[-1] <= 1
    assert all(0 < point.p10 <= point.p50 <= point.p90 for point in found.curve)
    assert (found.limiting is None) == (not asked.device or not asked.device.limits)
    assert ForecastAnswer.model_validate_json(found.model_dump_json()) == found
