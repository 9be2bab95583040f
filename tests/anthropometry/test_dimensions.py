"""The catalogue and the reading of sizes in the units people use."""

import pytest

from service.anthropometry import CATALOGUE, Dimension, parse_size, reference


@pytest.mark.parametrize("dimension", Dimension)
def test_every_dimension_is_described_and_its_limits_hold_every_reference_median(dimension: Dimension) -> None:
    facts = CATALOGUE[dimension]
    medians = reference(dimension, "unspecified").median([0, 1, 5, 12, 20, 80])
    assert facts.label
    assert facts.landmark
    assert facts.smallest < medians.min()
    assert medians.max() * 1.5 < facts.largest


@pytest.mark.parametrize(
    ("number", "unit", "into", "expected"),
    [
        ("18,15", "cm", "mm", 181.5),
        ("7.1", "in", "mm", 180.34),
        (1.312, "m", "mm", 1312.0),
        ("60", "lb", "kg", 27.2155422),
        ("3250", "g", "kg", 3.25),
    ],
)
def test_a_size_is_converted_exactly(number: str | float, unit: str, into: str, expected: float) -> None:
    assert parse_size(number, unit, into) == expected  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("number", "unit", "says"),
    [
        ("about 18", "cm", "write the size in digits"),
        ("", "mm", "write the size in digits"),
        ("NaN", "mm", "greater than zero"),
        ("-3", "mm", "greater than zero"),
        ("inf", "mm", "greater than zero"),
        ("181", "kg", "use one of mm, cm, m, in"),
    ],
)
def test_what_is_not_a_size_is_refused_with_what_to_do(number: str, unit: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        parse_size(number, unit, "mm")
