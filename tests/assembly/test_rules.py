"""What is true of parts in place without a database: stays, places only one part can fill, and what fits."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.assembly.rules import (
    SCALE_TOLERANCE,
    Member,
    Offered,
    Scaled,
    Stay,
    Vacancy,
    Why,
    attention,
    digit_problem,
    judged,
    leaving_problem,
    misfits,
    part_called,
    part_name,
    room_problem,
    slot,
)
from service.lots.rules import LotState
from service.parts.rules import Digit, PartKind, VersionState
from service.recipients.rules import Side

FIRST = date(2026, 1, 1)
DAYS = st.integers(0, 12).map(lambda n: FIRST + timedelta(days=n))


@st.composite
def stays(draw: st.DrawFn) -> Stay:
    since = draw(DAYS)
    length = draw(st.none() | st.integers(0, 12))
    return Stay(since, None if length is None else since + timedelta(days=length))


@given(stays(), stays())
def test_stays_meet_when_there_is_a_day_that_both_cover(one: Stay, other: Stay) -> None:
    days = [FIRST + timedelta(days=n) for n in range(60)]
    assert one.meets(other) == any(one.covers(day) and other.covers(day) for day in days) == other.meets(one)


@given(stays(), stays())
def test_there_is_room_exactly_where_no_stays_meet(one: Stay, other: Stay) -> None:
    assert (room_problem("palm", one, [other]) is None) == (not one.meets(other))


def test_a_part_leaves_after_it_came_and_goes_on_after_it_left() -> None:
    stay = Stay(FIRST, FIRST + timedelta(days=5))
    assert [leaving_problem(stay, FIRST + timedelta(days=n)) is None for n in (-1, 0, 4, 5, 6)] == [
        False,
        False,
        False,
        True,
        True,
    ]
    assert leaving_problem(Stay(FIRST, None), FIRST) is None


def test_a_device_has_one_of_each_finger_and_as_many_straps_as_it_takes() -> None:
    assert slot(PartKind.FINGER, Digit.INDEX) == "index"
    assert slot(PartKind.FINGER, Digit.RING) == "ring"
    assert slot(PartKind.THUMB, Digit.THUMB) == slot(PartKind.THUMB, None) == "thumb"
    assert slot(PartKind.PALM, None) == "palm"
    assert {slot(kind, None) for kind in (PartKind.STRAP, PartKind.MOTOR, PartKind.COVER, PartKind.OTHER)} == {None}


@pytest.mark.parametrize(
    ("kind", "digit", "is_fine"),
    [
        (PartKind.FINGER, Digit.INDEX, True),
        (PartKind.FINGER, None, False),
        (PartKind.FINGER, Digit.THUMB, False),
        (PartKind.THUMB, None, True),
        (PartKind.THUMB, Digit.THUMB, True),
        (PartKind.THUMB, Digit.RING, False),
        (PartKind.PALM, Digit.RING, False),
        (PartKind.COVER, Digit.RING, True),
    ],
)
def test_a_digit_belongs_to_what_has_one(kind: PartKind, digit: Digit | None, is_fine: bool) -> None:
    assert (digit_problem(kind, digit) is None) == is_fine


def test_parts_in_words() -> None:
    assert part_name(PartKind.FINGER, Digit.INDEX) == "finger, index"
    assert part_called(PartKind.FINGER, Digit.INDEX) == "index finger"
    assert part_name(PartKind.THUMB, Digit.THUMB) == part_called(PartKind.THUMB, Digit.THUMB) == "thumb"
    assert part_name(PartKind.MOTOR, None, "geared motor 6 V") == "motor (geared motor 6 V)"


def finger(interface: str = "A", scale: float = 1.0, digit: Digit = Digit.INDEX) -> Member:
    return Member(PartKind.FINGER, digit, interface, Scaled(scale, scale))


def palm(interface: str = "A", scale: float = 1.0) -> Member:
    return Member(PartKind.PALM, None, interface, Scaled(scale, scale))


def whys(part: Member, *others: Member) -> list[Why]:
    return [each.why for each in misfits(part, others)]


def test_a_finger_goes_with_the_palm_it_joins_and_with_nothing_else() -> None:
    assert whys(finger("A"), palm("a ")) == []
    assert whys(finger("A"), palm("B")) == [Why.INTERFACE]
    assert whys(finger("A", 1.0), palm("A", 1.02)) == [Why.SCALE]
    assert whys(finger("B", 1.0), palm("A", 1.02)) == [Why.INTERFACE, Why.SCALE]
    assert whys(finger("B", 1.0), finger("A", 1.2, Digit.RING)) == []
    assert whys(finger(""), palm("B")) == []
    coupling = Member(PartKind.WRIST_COUPLING, None, "bayonet", Scaled(1, 1))
    assert whys(palm("A", 1.3), coupling) == []
    assert whys(Member(PartKind.TOOL_HOLDER, None, "screw", None), coupling) == [Why.INTERFACE]


@given(st.floats(0.2, 5), st.floats(-0.02, 0.02))
def test_scales_fit_within_half_a_per_cent(scale: float, off: float) -> None:
    near = Scaled(scale * (1 + off), scale).near(Scaled(scale, scale))
    assert near == (abs(off) <= SCALE_TOLERANCE) or abs(abs(off) - SCALE_TOLERANCE) < 1e-6


def offered(**changes: object) -> Offered:
    given: dict[str, object] = {
        "version": 1,
        "name": "Long finger, version 1",
        "kind": PartKind.FINGER,
        "digit": None,
        "side": None,
        "interface": "A",
        "materials": ("PETG", "TPU 95A"),
        "state": VersionState.RELEASED,
        **changes,
    }
    return Offered(**given)  # type: ignore[arg-type]  # a test's shorthand


def vacancy(worn: Member, *others: Member, material: str = "petg") -> Vacancy:
    return Vacancy(worn, Side.LEFT, others, material, "green")


def test_the_scale_is_that_of_the_palm_or_else_of_the_part_that_is_worn() -> None:
    worn = finger("A", 1.0)
    assert judged(vacancy(worn, palm("A", 1.1)), offered()).scales == Scaled(1.1, 1.1)
    assert judged(vacancy(worn), offered()).scales == Scaled(1.0, 1.0)
    fingers = (finger("A", 1.1), finger("A", 1.1, Digit.RING))
    assert judged(vacancy(palm("A", 1.0), *fingers), offered(kind=PartKind.PALM)).scales == Scaled(1.1, 1.1)
    at_odds = (finger("A", 1.1), finger("A", 1.2, Digit.RING))
    assert judged(vacancy(palm("A", 1.0), *at_odds), offered(kind=PartKind.PALM)).scales == Scaled(1.0, 1.0)
    assert judged(vacancy(Member(PartKind.FINGER, Digit.INDEX, "A", None)), offered()).scales is None


def test_colour_and_material_are_those_worn_if_the_version_allows_them() -> None:
    fits = judged(vacancy(finger()), offered())
    assert (fits.material, fits.colour, fits.reasons) == ("petg", "green", ())
    assert judged(vacancy(finger(), material="PLA"), offered()).material == "PETG"
    assert judged(vacancy(finger(), material="PLA"), offered(materials=())).material == "PLA"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"state": VersionState.DRAFT}, Why.STATE),
        ({"state": VersionState.WITHDRAWN, "successor": "Long finger, version 2"}, Why.STATE),
        ({"side": Side.RIGHT}, Why.SIDE),
        ({"digit": Digit.RING}, Why.DIGIT),
        ({"interface": "B"}, Why.INTERFACE),
        ({"interface": ""}, Why.INTERFACE),
    ],
)
def test_what_does_not_fit_says_why(change: dict[str, object], why: Why) -> None:
    for place in (vacancy(finger(), palm()), vacancy(finger())):
        (reason,) = judged(place, offered(**change)).reasons
        assert reason.why is why
        assert ("use Long finger, version 2 instead" in reason.sentence) == ("successor" in change)


def test_what_should_be_looked_at_says_since_when() -> None:
    assert list(attention(None, None, [("a spool", LotState.IN_USE, FIRST), ("a reel", LotState.USED_UP, FIRST)])) == []
    found = dict(attention(FIRST, "Long finger, version 2", [("a spool", LotState.HELD, FIRST)]))
    assert list(found) == ["withdrawn", "held"]
    assert "1 January 2026" in found["withdrawn"]
    assert "Use Long finger, version 2" in found["withdrawn"]
    assert "a spool" in found["held"]
