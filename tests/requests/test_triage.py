"""Which request comes first, and why: from facts alone."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.requests.triage import Decision, Facts, lately, rank_of, triage, waited_days

TODAY = date(2026, 3, 2)  # a Monday


def test_harm_comes_first_then_what_cannot_be_used() -> None:
    saturday = TODAY - timedelta(days=2)
    assert triage(Facts(harm=True, usable=True, asked_on=TODAY), TODAY).why == "First: it hurts."
    unusable = triage(Facts(harm=False, usable=False, asked_on=saturday), TODAY)
    assert unusable.why == "Second: it cannot be used since Saturday: no spare device."
    spare = triage(Facts(harm=False, usable=False, asked_on=saturday, has_spare=True), TODAY)
    assert spare.why == "Second: it cannot be used since Saturday: a spare device is at hand."


def test_a_socket_is_pressing_once_making_takes_as_long_as_it_lasts() -> None:
    def facts(days: int) -> Facts:
        return Facts(harm=False, usable=True, asked_on=TODAY, tight_on=TODAY + timedelta(days=days), lead_days=28)

    assert [rank_of(facts(days), TODAY) for days in (-3, 28, 29)] == [3, 3, 4]
    assert (
        triage(facts(12), TODAY).why
        == "Third: the socket is probably tight in about 12 days, and making takes 28 days."
    )
    assert "by now" in triage(facts(0), TODAY).why
    assert triage(facts(40), TODAY).why.startswith("Fourth: the socket is probably not tight before 11 April 2026")


def test_the_clock_stands_still_while_somebody_is_waited_for() -> None:
    asked_on = TODAY - timedelta(days=20)
    assert waited_days(asked_on, TODAY, 6) == 14
    said = triage(Facts(harm=False, usable=None, asked_on=asked_on, stood_days=19), TODAY).why
    assert said == "Fourth: nothing is known to hurt or to stand still; waited for 1 day."


def test_somebody_s_decision_stands_with_the_reason_and_the_name() -> None:
    facts = Facts(harm=True, usable=False, asked_on=TODAY)
    found = triage(facts, TODAY, Decision(3, "Seen yesterday; the skin is whole.", "Ann"))
    assert (found.rank, found.by) == (3, "Ann")
    assert found.why == "Third: Seen yesterday; the skin is whole. Ann decided so."


def test_days_are_said_as_people_say_them() -> None:
    assert lately(TODAY, TODAY) == "today"
    assert lately(TODAY - timedelta(days=6), TODAY) == "Tuesday"
    assert lately(TODAY - timedelta(days=7), TODAY) == "23 February 2026"


@given(
    st.booleans(),
    st.sampled_from([True, False, None]),
    st.none() | st.integers(-100, 1000),
    st.integers(0, 200),
)
def test_harm_is_never_behind_and_the_place_never_falls_as_a_socket_gets_tighter(
    harm: bool,
    usable: bool | None,
    days: int | None,
    lead: int,
) -> None:
    tight = None if days is None else TODAY + timedelta(days=days)
    rank = rank_of(Facts(harm=harm, usable=usable, asked_on=TODAY, tight_on=tight, lead_days=lead), TODAY)
    assert (rank == 1) is harm
    if tight is not None:
        sooner = Facts(harm=harm, usable=usable, asked_on=TODAY, tight_on=tight - timedelta(days=1), lead_days=lead)
        assert rank_of(sooner, TODAY) <= rank
