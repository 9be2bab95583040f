"""The committed story is what its script makes of the cast, and it will not grow old."""

from __future__ import annotations

import json
import re
from itertools import pairwise

import pytest

from seed_data.cast import read_cast
from seed_data.growing import Body, Channel
from seed_data.make import REGISTER, register, story
from service.anthropometry import Dimension, largest_believable_growth

CHILDREN = [person for person in read_cast() if person.is_child]


def test_the_script_makes_the_committed_file():
    assert register() == REGISTER.read_text(encoding="utf-8"), "run: python -m seed_data.make"


def test_nothing_in_the_file_is_a_date_or_lies_in_the_future():
    text = REGISTER.read_text(encoding="utf-8")
    assert not re.search(r"\d{4}-\d\d-\d\d", text)
    assert all(event["ago"] > 0 for person in json.loads(text) for event in person)


def test_the_file_stays_small_enough_to_read_through():
    assert REGISTER.stat().st_size < 400_000


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
