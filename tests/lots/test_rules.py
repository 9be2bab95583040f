"""Which state of a lot may follow which, and what is wrong with what somebody says of one."""

from __future__ import annotations

from datetime import date
from itertools import product

import pytest

from service.lots.rules import (
    MOVES,
    LotKind,
    LotState,
    LotUnit,
    counting_problem,
    move_problem,
    received_problem,
    search_words,
    usual_unit,
    why_not_used,
)


@pytest.mark.parametrize(("now", "wanted"), list(product(LotState, LotState)))
def test_a_move_is_refused_in_words_unless_the_table_has_it(now, wanted):
    problem = move_problem(now, wanted)
    assert (problem is None) == (wanted in MOVES[now])
    if now is wanted:
        assert "already" in (problem or "")


def test_what_was_withdrawn_is_held_before_it_is_used_again():
    assert "hold it first" in (move_problem(LotState.WITHDRAWN, LotState.IN_USE) or "")
    assert move_problem(LotState.WITHDRAWN, LotState.HELD) is None
    assert move_problem(LotState.HELD, LotState.IN_USE) is None


def test_every_state_can_come_to_be_withdrawn_and_to_be_used_again():
    for start in LotState:
        reached = {start}
        while more := {after for state in reached for after in MOVES[state]} - reached:
            reached |= more
        assert {LotState.IN_USE, LotState.WITHDRAWN} <= reached


def test_only_a_lot_in_use_goes_into_something_new():
    assert [state for state in LotState if why_not_used(state) is None] == [LotState.IN_USE]


def test_a_day_received_is_neither_to_come_nor_long_ago():
    today = date(2026, 3, 2)
    assert received_problem(today, today) is None
    assert "to come" in (received_problem(date(2026, 3, 3), today) or "")
    assert "year" in (received_problem(date(1926, 3, 2), today) or "")


def test_filament_is_not_counted_in_pieces():
    assert counting_problem(LotKind.FILAMENT, LotUnit.PIECES)
    for kind in LotKind:
        assert counting_problem(kind, usual_unit(kind)) is None


def test_words_are_found_whatever_their_case_and_accents():
    assert search_words("Élastique", "NOIR") == "elastique noir"
