"""The catalogue and the reading of sizes in the units people use."""

import pytest

from service.anthropometry import CATALOGUE, Dimension, Sex, parse_size, reference, short_landmark


@pytest.mark.parametrize("above_elbow", [False, True])
@pytest.mark.parametrize("dimension", Dimension)
def test_every_dimension_is_described_and_its_limits_hold_every_reference_median(
    dimension: Dimension, *, above_elbow: bool
) -> None:
    facts = CATALOGUE[dimension]
    medians = reference(dimension, "unspecified", above_elbow=above_elbow).median([0, 1, 5, 12, 20, 80])
    assert facts.label
    assert facts.landmark
    assert facts.smallest < medians.min()
    assert medians.max() * 1.5 < facts.largest


@pytest.mark.parametrize("dimension", Dimension)
def test_a_landmark_is_kept_so_that_it_reads_the_same_on_every_limb(dimension: Dimension) -> None:
    facts = CATALOGUE[dimension]
    usual = {above: facts.kept_landmark(above_elbow=above) for above in (False, True)}
    assert usual[False] == ""
    assert bool(usual[True]) is (dimension in {Dimension.RESIDUAL_LIMB_GIRTH, Dimension.RESIDUAL_LIMB_LENGTH})
    for above in (False, True):
        assert facts.kept_landmark(facts.landmark.upper(), above_elbow=above) == ""
        assert facts.kept_landmark("the end of the limb", above_elbow=above) == "the end of the limb"
        if usual[True]:
            named = (usual[True], short_landmark(usual[True]), short_landmark(usual[True]).removeprefix("the "))
            assert {facts.kept_landmark(each, above_elbow=above) for each in named} == {usual[True]}


@pytest.mark.parametrize("sex", ["female", "male", "unspecified"])
def test_a_residual_limb_above_the_elbow_is_as_thick_as_an_upper_arm(sex: Sex) -> None:
    ages = [0.5, 4, 12, 30]
    limb = reference(Dimension.RESIDUAL_LIMB_GIRTH, sex, above_elbow=True).median(ages)
    assert list(limb) == list(reference(Dimension.UPPER_ARM_GIRTH, sex).median(ages))
    assert list(limb) != list(reference(Dimension.RESIDUAL_LIMB_GIRTH, sex).median(ages))


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
