"""The table of what lifts what, tried on every pair of a block and an act: nothing lifts what is not its line."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from service.builds.rules import MOVES, BuildState, move_problem
from service.gate.blocks import (
    LIFTS,
    BenchFacts,
    BlockCode,
    Facts,
    ItemFacts,
    LotFacts,
    NoticeFacts,
    Stage,
    blocks,
    stopping,
)
from service.lots.rules import LotState
from service.parts.rules import PartKind, VersionState
from service.recipients.rules import Verdict

SPOOL = LotFacts("spool 3", "PETG 1.75 mm", LotState.IN_USE, latex_free=True, skin_contact=True)
FINGER = ItemFacts(
    "index finger", PartKind.FINGER, True, "PETG", "Finger, version 2", VersionState.RELEASED, lots=(SPOOL,)
)
CHECKED = BenchFacts(passed=True, by_maker=False, gauged=False, signed_by="Cy")
CLEAR = Facts(
    items=(FINGER,),
    missing_consents=(),
    prescription_lacks=(),
    legal_basis=False,
    first_device=True,
    suitability=Verdict.SUITABLE,
    suitability_rule=False,
    latex_allergy=False,
    skin_allergies="",
    age_months=100,
    bench=CHECKED,
)


def item(**changes):
    """The finger, changed."""
    return replace(FINGER, **changes)


def spool(**changes):
    """The finger from another spool."""
    return item(lots=(replace(SPOOL, **changes),))


BLOCKED: dict[BlockCode, dict[str, Any]] = {
    BlockCode.BENCH_CHECK: {"bench": None},
    BlockCode.CONSENT: {"missing_consents": ("consent to the device",)},
    BlockCode.VERSION: {"items": (item(state=VersionState.WITHDRAWN),)},
    BlockCode.NOTICE: {"notices": (NoticeFacts("Notice 3 is open.", on_version=False),)},
    BlockCode.LOT: {"items": (spool(state=LotState.HELD),)},
    BlockCode.PRESCRIPTION: {"prescription_lacks": ("the day",)},
    BlockCode.SUITABILITY: {"suitability": None},
    BlockCode.ALLERGY: {"items": (spool(latex_free=False),), "latex_allergy": True},
    BlockCode.SMALL_CHILD: {"age_months": 35},
    BlockCode.SCALE: {"items": (item(out_of_limits=("The bore comes out too tight.",)),)},
}
"""What makes each block stand, alone."""


def accepted(facts, *some):
    """With what stands there under some codes accepted in writing, by its very sentences."""
    return replace(facts, accepted=facts.accepted | {each.why for each in blocks(facts) if each.code in some})


GAUGED = replace(CHECKED, gauged=True)
ACTS = {
    "a bench check by another": lambda facts: replace(facts, bench=facts.bench or CHECKED),
    "a bench check with what was drilled": lambda facts: replace(facts, bench=GAUGED),
    "a bench check by the maker": lambda facts: replace(facts, bench=facts.bench or replace(CHECKED, by_maker=True)),
    "a bench check that failed": lambda facts: replace(facts, bench=facts.bench or replace(CHECKED, passed=False)),
    "consent": lambda facts: replace(facts, missing_consents=()),
    "another version or lot": lambda facts: replace(facts, items=(FINGER,), notices=()),
    "the prescription": lambda facts: replace(facts, prescription_lacks=()),
    "the legal basis": lambda facts: replace(facts, legal_basis=True),
    "a clinician's note": lambda facts: replace(facts, suitability=Verdict.SUITABLE),
    "a clinician's note that says not": lambda facts: replace(facts, suitability=facts.suitability or Verdict.NOT),
    "the site's rule on suitability": lambda facts: replace(facts, suitability_rule=True),
    "an allergy accepted": lambda facts: accepted(facts, BlockCode.ALLERGY),
    "a small child accepted": lambda facts: accepted(facts, BlockCode.SMALL_CHILD),
    "everything else accepted": lambda facts: accepted(
        facts, *(set(BlockCode) - {BlockCode.ALLERGY, BlockCode.SMALL_CHILD})
    ),
}
LINES = {
    BlockCode.BENCH_CHECK: {"a bench check by another", "a bench check with what was drilled"},
    BlockCode.CONSENT: {"consent"},
    BlockCode.VERSION: {"another version or lot"},
    BlockCode.NOTICE: {"another version or lot"},
    BlockCode.LOT: {"another version or lot"},
    BlockCode.PRESCRIPTION: {"the prescription", "the legal basis"},
    BlockCode.SUITABILITY: {"a clinician's note", "the site's rule on suitability"},
    BlockCode.ALLERGY: {"another version or lot", "an allergy accepted"},
    BlockCode.SMALL_CHILD: {"a small child accepted"},
    BlockCode.SCALE: {"another version or lot", "a bench check with what was drilled"},
}
"""The lines of the table, as they were asked for."""


def codes(facts):
    """What stands in the way."""
    return {each.code for each in blocks(facts)}


def test_nothing_stands_in_the_way_of_what_is_in_order():
    assert blocks(CLEAR) == []


def test_every_block_is_here_and_has_its_line():
    assert set(BLOCKED) == set(LINES) == set(LIFTS) == set(BlockCode)


@pytest.mark.parametrize("code", BlockCode)
def test_each_stands_alone(code):
    assert codes(replace(CLEAR, **BLOCKED[code])) == {code}


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("code", BlockCode)
def test_it_is_lifted_by_its_line_and_by_nothing_else(code, act):
    after = codes(ACTS[act](replace(CLEAR, **BLOCKED[code])))
    assert (code not in after) is (act in LINES[code])


@pytest.mark.parametrize("code", BlockCode)
def test_all_the_wrong_acts_together_do_not_lift_it(code):
    facts = replace(CLEAR, **BLOCKED[code])
    for act in set(ACTS) - LINES[code]:
        facts = ACTS[act](facts)
    assert code in codes(facts)


def test_blocks_do_not_hide_one_another():
    for one, other in combinations(set(BlockCode) - {BlockCode.VERSION, BlockCode.LOT, BlockCode.SCALE}, 2):
        assert codes(replace(CLEAR, **{**BLOCKED[one], **BLOCKED[other]})) >= {one, other}


@pytest.mark.parametrize("code", BlockCode)
def test_it_stops_its_move_and_every_one_after(code):
    found = blocks(replace(CLEAR, **BLOCKED[code]))
    for stage in Stage:
        assert bool(stopping(found, stage)) is (stage >= LIFTS[code].stops)
    assert stopping(found, Stage.FIT)


@pytest.mark.parametrize("code", [BlockCode.PRESCRIPTION, BlockCode.SUITABILITY, BlockCode.CONSENT, BlockCode.VERSION])
def test_some_stop_the_start_already(code):
    assert LIFTS[code].stops is Stage.START


def test_a_notice_on_a_version_stops_its_start_and_one_on_a_lot_does_not():
    for on_version in (True, False):
        found = blocks(replace(CLEAR, notices=(NoticeFacts("Notice 3 is open.", on_version),)))
        assert bool(stopping(found, Stage.START)) is on_version


@pytest.mark.parametrize("verdict", [Verdict.NOT, Verdict.NOT_YET])
def test_a_rule_of_the_site_does_not_overrule_a_clinician(verdict):
    assert codes(replace(CLEAR, suitability=verdict, suitability_rule=True)) == {BlockCode.SUITABILITY}


def test_a_device_that_is_not_the_first_needs_no_note():
    assert codes(replace(CLEAR, suitability=None, first_device=False)) == set()


@pytest.mark.parametrize(
    ("changes", "clashes"),
    [
        ({"latex_allergy": True, "items": (spool(latex_free=None),)}, False),
        ({"latex_allergy": True, "items": (replace(spool(latex_free=None), printed=False),)}, True),
        ({"latex_allergy": None, "items": (spool(latex_free=False),)}, True),
        ({"latex_allergy": False, "items": (spool(latex_free=False),)}, False),
        ({"skin_allergies": "nickel, PETG", "items": (item(kind=PartKind.SOCKET),)}, True),
        ({"skin_allergies": "nickel, PETG"}, False),
        ({"skin_allergies": "nickel", "items": (item(kind=PartKind.SOCKET),)}, False),
    ],
)
def test_a_material_clashes_with_an_allergy(changes, clashes):
    assert (BlockCode.ALLERGY in codes(replace(CLEAR, **changes))) is clashes


@pytest.mark.parametrize(
    ("months", "kind", "small", "stands"),
    [
        (35, PartKind.FINGER, False, True),
        (36, PartKind.FINGER, True, False),
        (35, PartKind.SOCKET, False, False),
        (35, PartKind.SOCKET, True, True),
        (0, PartKind.PALM, False, True),
    ],
)
def test_under_three_a_printed_hand_and_small_parts_need_a_clinician(months, kind, small, stands):
    facts = replace(CLEAR, age_months=months, items=(item(kind=kind, small=small),))
    assert (BlockCode.SMALL_CHILD in codes(facts)) is stands


def test_what_was_altered_since_is_not_accepted_by_what_was_said_before():
    for code in (BlockCode.ALLERGY, BlockCode.SMALL_CHILD):
        before = accepted(replace(CLEAR, **BLOCKED[code]), code)
        assert code not in codes(before)
        palm = replace(before.items[0], name="palm", lots=(replace(before.items[0].lots[0], called="spool 9"),))
        assert code in codes(replace(before, items=(palm,)))


def test_no_way_through_the_states_leaves_out_a_clearing():
    """Every path from planned to worn, however long, goes through cleared after it was last made."""
    ways = [[BuildState.PLANNED]]
    found = 0
    while ways:
        way = ways.pop()
        for to in MOVES[way[-1]]:
            if to is BuildState.FITTED:
                found += 1
                last_made = max(at for at, state in enumerate(way) if state is BuildState.MADE)
                assert BuildState.CLEARED in way[last_made:]
                assert BuildState.DELIVERED in way[last_made:]
            elif way.count(to) < 3:
                ways.append([*way, to])
    assert found > 3


@pytest.mark.parametrize("now", BuildState)
@pytest.mark.parametrize("wanted", BuildState)
def test_what_cannot_follow_is_refused_in_words(now, wanted):
    problem = move_problem(now, wanted)
    assert (problem is None) is (wanted in MOVES[now])
    if problem:
        assert now.label in problem
