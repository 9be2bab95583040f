"""What is said about the skin, and which days follow from a judgement."""

from __future__ import annotations

import re
from datetime import date
from itertools import combinations

import textstat

from service.safety.rules import (
    MAY_NOT_SHOW,
    PLAN_FIRST,
    SIGNS,
    SKIN,
    Clock,
    Sign,
    SkinLimits,
    SkinSeen,
    aware_problem,
    judgement_problem,
    look_by,
    report_by,
    working_days_after,
    worst,
)

PLAIN = 6.0
"""School years by the automated readability index: a child of eleven has about six behind them."""

LONGEST = 14
"""Words in a sentence."""


def test_every_sign_and_everything_seen_has_its_words():
    assert set(SIGNS) == set(Sign)
    assert set(SKIN) == set(SkinSeen) == {seen for seen, _ in SIGNS.values()}


def test_of_several_signs_the_worst_counts():
    order = list(SkinSeen)
    for one, other in combinations(Sign, 2):
        seen = worst([one, other])
        assert seen is worst([other, one])
        assert order.index(seen) == max(order.index(SIGNS[one][0]), order.index(SIGNS[other][0]))


def test_the_worse_it_is_the_sooner_somebody_looks():
    monday, limits = date(2026, 3, 2), SkinLimits(review_days=3)
    by = [look_by(SKIN[seen].look, monday, limits) for seen in (SkinSeen.GONE, SkinSeen.STAYS, SkinSeen.STAYS_LONG)]
    assert by == [None, date(2026, 3, 5), monday]
    assert SKIN[SkinSeen.HURT].opens_incident
    assert SKIN[SkinSeen.HURT].say.startswith("Stop wearing it.")
    assert [advice.urgent for advice in SKIN.values()] == [False, False, True, True]


def test_working_days_leave_out_the_weekend():
    thursday, friday, saturday = date(2026, 3, 5), date(2026, 3, 6), date(2026, 3, 7)
    assert working_days_after(friday, 0) == friday
    assert working_days_after(thursday, 1) == friday
    assert working_days_after(thursday, 2) == date(2026, 3, 9)
    assert working_days_after(friday, 2) == date(2026, 3, 10)
    assert working_days_after(saturday, 1) == date(2026, 3, 9)


def test_days_to_report_count_from_when_the_charity_knew():
    knew = date(2026, 2, 25)
    assert [report_by(clock, knew) for clock in Clock] == [date(2026, 2, 27), date(2026, 3, 7), date(2026, 3, 12)]


def test_a_judgement_says_in_which_way_it_is_serious():
    assert judgement_problem(None, serious=True)
    assert judgement_problem(Clock.OTHER_SERIOUS, serious=False)
    assert judgement_problem(None, serious=False) is None
    assert judgement_problem(Clock.OTHER_SERIOUS, serious=True) is None


def test_nobody_hears_of_something_tomorrow():
    assert aware_problem(date(2026, 3, 3), date(2026, 3, 2))
    assert aware_problem(date(2026, 3, 2), date(2026, 3, 2)) is None


SAID = (
    *(words for _, words in SIGNS.values()),
    *(advice.say for advice in SKIN.values()),
    *(advice.then for advice in SKIN.values()),
    MAY_NOT_SHOW,
    PLAN_FIRST,
)


def test_a_child_can_read_what_is_said():
    assert textstat.automated_readability_index(" ".join(SAID)) <= PLAIN
    for text in SAID:
        assert max(len(sentence.split()) for sentence in re.split(r"[.?:]", text)) <= LONGEST, text
