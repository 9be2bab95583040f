"""Case numbers, names, ages and what a case still needs."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.recipients.rules import (
    Cause,
    ConsentKind,
    Level,
    Purpose,
    Side,
    Verdict,
    birth_date_problem,
    birthday,
    case_number,
    check_digit,
    fold,
    limb_in_words,
    past_day_problem,
    read_case_number,
    still_needed,
)

NUMBERS = st.integers(0, 999_999)


@given(NUMBERS)
def test_a_case_number_reads_back_however_it_is_typed(number: int) -> None:
    shown = case_number(number)
    bare = shown.replace("-", "")
    assert read_case_number(shown) == shown
    assert read_case_number(bare) == shown
    assert read_case_number(" ".join(bare)) == shown


@given(NUMBERS, st.integers(0, 6), st.integers(1, 9))
def test_every_wrong_digit_is_noticed(number: int, place: int, shift: int) -> None:
    digits = list(case_number(number).replace("-", ""))
    digits[place] = str((int(digits[place]) + shift) % 10)
    assert read_case_number("".join(digits)) is None


def test_most_swaps_of_neighbours_are_noticed() -> None:
    missed = total = 0
    for number in range(0, 1_000_000, 997):
        digits = case_number(number).replace("-", "")
        for place, (one, other) in enumerate(pairwise(digits)):
            if one != other:
                total += 1
                swapped = digits[:place] + other + one + digits[place + 2 :]
                missed += read_case_number(swapped) is not None
    assert missed / total < 0.03


@pytest.mark.parametrize("text", ["", "482", "482-91", "abc-defg", "4829130x", "٤٨٢٩١٣٠", "482-9130\x00"])
def test_what_is_no_case_number(text: str) -> None:
    assert read_case_number(text) is None


def test_the_check_digit_makes_the_mod_11_10_sum_one() -> None:
    """ISO/IEC 7064: a full string is right when the carried sum, with the check digit added, is 1 modulo 10."""
    for number in (0, 7, 482_913, 999_999):
        carry = 10
        digits = f"{number:06d}"
        for digit in digits:
            carry = ((int(digit) + carry) % 10 or 10) * 2 % 11
        assert (carry + int(check_digit(digits))) % 10 == 1


def test_names_are_found_without_accents() -> None:
    assert fold("  Zoë   MÜLLER ") == "zoe muller"
    assert fold("Nguyễn") == "nguyen"
    assert fold("Łukasz Ørsted") == "lukasz orsted"
    assert fold("Weiß") == "weiss"
    assert fold("ليلى") == "ليلى"


def test_a_leap_day_child_has_a_birthday_every_year() -> None:
    assert birthday(date(2008, 2, 29), 16) == date(2024, 2, 29)
    assert birthday(date(2008, 2, 29), 18) == date(2026, 3, 1)


def test_birth_dates_that_cannot_be() -> None:
    today = date(2026, 3, 2)
    assert "future" in (birth_date_problem(date(2026, 3, 3), today) or "")
    assert "120" in (birth_date_problem(date(1900, 1, 1), today) or "")
    assert birth_date_problem(today, today) is None


def test_days_that_cannot_be() -> None:
    today, born = date(2026, 3, 2), date(2018, 5, 4)
    assert "not come" in (past_day_problem(date(2026, 3, 3), born, today) or "")
    assert "born" in (past_day_problem(date(2018, 5, 3), born, today) or "")
    assert past_day_problem(today, born, today) is None


def test_each_cause_is_said_in_its_standards_words() -> None:
    assert (
        limb_in_words(Side.LEFT, Cause.CONGENITAL, Level.FOREARM_UPPER)
        == "left transverse deficiency at the upper third of the forearm"
    )
    assert (
        limb_in_words(Side.RIGHT, Cause.ACQUIRED, Level.FOREARM_LOWER)
        == "right transradial amputation, the lower third of the forearm"
    )
    assert limb_in_words(Side.LEFT, Cause.ACQUIRED, Level.WRIST) == "left wrist disarticulation"
    for level in Level:
        for cause in Cause:
            assert limb_in_words(Side.LEFT, cause, level).startswith("left ")


def test_what_a_childs_case_needs_and_an_adults_does_not() -> None:
    nothing = {
        "limbs": 0,
        "guardians": 0,
        "consents": frozenset[tuple[ConsentKind, Purpose]](),
        "suitability": None,
        "prescriber": "",
        "latex_asked": False,
    }
    for_child = still_needed(age=7, **nothing)  # type: ignore[arg-type]
    for_adult = still_needed(age=18, **nothing)  # type: ignore[arg-type]
    assert set(for_child) - set(for_adult) == {
        "a contact with parental responsibility",
        "the child's own assent",
    }
    for_baby = still_needed(age=1, **nothing)  # type: ignore[arg-type]
    assert set(for_child) - set(for_baby) == {"the child's own assent"}
    assert (
        still_needed(
            age=7,
            limbs=1,
            guardians=1,
            consents=frozenset(
                {
                    (ConsentKind.CONSENT, Purpose.RECORDS),
                    (ConsentKind.CONSENT, Purpose.DEVICE),
                    (ConsentKind.ASSENT, Purpose.DEVICE),
                }
            ),
            suitability=Verdict.SUITABLE,
            prescriber="Dr Ama Quist",
            latex_asked=True,
        )
        == []
    )
