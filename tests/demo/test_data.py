"""The committed story is what its script makes of the cast, and it will not grow old."""

from __future__ import annotations

import json
import re
from itertools import pairwise

import pytest

from seed_data.cast import read_cast
from seed_data.growing import Body, Channel
from seed_data.library import newest, versions
from seed_data.make import REGISTER, register, story
from seed_data.stock import batch, spool
from service.anthropometry import Dimension, largest_believable_growth

CHILDREN = [person for person in read_cast() if person.is_child]


def test_the_script_makes_the_committed_file():
    assert register() == REGISTER.read_text(encoding="utf-8"), "run: python -m seed_data.make"


def test_nothing_in_the_file_is_a_date_or_lies_in_the_future():
    text = REGISTER.read_text(encoding="utf-8")
    assert not re.search(r"\d{4}-\d\d-\d\d", text)
    assert all(event["ago"] > 0 for person in json.loads(text) for event in person)


def test_the_file_stays_small_enough_to_read_through():
    assert REGISTER.stat().st_size < 1_100_000


def test_one_changed_life_leaves_the_others_as_they_were():
    first, second = read_cast()[:2]
    alone = story(second)
    story(first)
    assert story(second) == alone


@pytest.mark.parametrize("person", CHILDREN, ids=lambda person: person.name)
def test_children_grow_as_children_do(person):
    body = Body(person)
    heights = [body.size(Channel(Dimension.HEIGHT), ago) for ago in range(person.asked_ago, -1, -90)]
    for number, (before, after) in enumerate(pairwise(heights)):
        age = person.age - (person.asked_ago - 90 * number) / 365.25
        grown = after / before - 1
        assert -1e-9 <= grown < largest_believable_growth(Dimension.HEIGHT, age, 90)


def test_parts_come_off_only_where_they_were_put_and_no_slot_holds_two():
    for events in json.loads(REGISTER.read_text(encoding="utf-8")):
        moved_here = {(name, key, slot) for name, key, slot in _moved()}
        name = next((f"{e['given_name']} {e['family_name']}" for e in events if e["what"] == "registered"), "")
        there: set[tuple[str, str]] = set()
        for event in events:
            for slot in event.get("put", {}):
                assert (event["key"], slot) not in there
                there.add((event["key"], slot))
            gone = event["what"] in {"parts_off", "part_moved", "part_struck"}
            for slot in event.get("slots", [event.get("slot")]) if gone else []:
                assert (event["key"], slot) in there or (name, event["key"], slot) in moved_here
                there.discard((event["key"], slot))


def _moved() -> list[tuple[str, str, str]]:
    everything = [event for events in json.loads(REGISTER.read_text(encoding="utf-8")) for event in events]
    return [(*event["to"], event["slot"]) for event in everything if event["what"] == "part_moved"]


def test_a_version_is_made_only_between_its_release_and_its_withdrawal():
    made = {version.key: version for version in versions()}
    for events in json.loads(REGISTER.read_text(encoding="utf-8")):
        for event in events:
            day = event["ago"] - event.get("in_days", 0)  # parts entered late were made before
            for part in event.get("put", {}).values():
                assert "version" not in part or made[part["version"]].may_be_made(day)


def test_a_day_before_anything_was_released_has_no_version():
    with pytest.raises(LookupError, match="Mitten"):
        newest("Mitten", 2_000)


def test_a_shelf_that_is_empty_says_what_it_lacks():
    with pytest.raises(LookupError, match="thr has no PLA"):
        spool("thr", ("PLA",), ("black",), 5_000)
    with pytest.raises(LookupError, match="thr has no motor"):
        batch("thr", "motor", 10)
