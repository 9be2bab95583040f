"""A device drawn: what is in place is inked, what lacks is in pencil, and every shape is big enough for a fingertip."""

from __future__ import annotations

import re
from itertools import combinations

import pytest

from service.assembly.drawing import Area, Drawing, Seen, drawing
from service.assembly.rules import area_key
from service.assembly.shapes import WIDTH
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Level, Side

FINGERS = (Digit.INDEX, Digit.MIDDLE, Digit.RING, Digit.LITTLE)
HAND = [Seen(PartKind.PALM), Seen(PartKind.THUMB, Digit.THUMB), *(Seen(PartKind.FINGER, each) for each in FINGERS)]
ARM = [Seen(PartKind.WRIST_COUPLING), Seen(PartKind.SOCKET)]
INSIDE = [Seen(PartKind.MOTOR), Seen(PartKind.BOARD), Seen(PartKind.STRAP), Seen(PartKind.STRAP)]
SMALLEST = 44 / (288 / WIDTH)
"""Units of the drawing that are 44 pixels where the page is 320 wide and its margins 16."""


def by_state(made: Drawing, state: str) -> set[str]:
    return {each.key for each in made.areas if each.state == state}


def test_all_in_place_is_all_inked() -> None:
    made = drawing([*HAND, *ARM, *INSIDE], Side.LEFT, Level.FOREARM_UPPER)
    assert made.missing == ()
    assert by_state(made, "there") == {
        *("palm", "thumb", "index", "middle", "ring", "little", "wrist_coupling", "socket", "motor", "board", "strap"),
    }
    assert next(each for each in made.areas if each.key == "strap").name == "strap (2)"


def test_what_a_hand_lacks_is_in_pencil() -> None:
    made = drawing([each for each in HAND if each.digit is not Digit.RING], Side.LEFT, Level.FOREARM_UPPER)
    assert made.missing == ("ring finger", "wrist coupling", "socket")
    assert drawing([], Side.RIGHT, Level.FOREARM_UPPER).there == ()
    assert len(drawing([], Side.RIGHT, Level.FOREARM_UPPER).missing) == 8


@pytest.mark.parametrize(
    ("parts", "level", "missing"),
    [
        # A hand of one's own is drawn around a finger, and lacks nothing.
        ([Seen(PartKind.FINGER, Digit.MIDDLE)], Level.PHALANGEAL, set()),
        # A partial hand has neither coupling nor forearm.
        ([each for each in HAND if each.digit is not Digit.RING], Level.METACARPAL, {"ring"}),
        # What holds a tool has no fingers, nor has a mitten.
        ([Seen(PartKind.TOOL_HOLDER), Seen(PartKind.WRIST_COUPLING)], Level.FOREARM_LOWER, {"socket"}),
        ([Seen(PartKind.TERMINAL_DEVICE), Seen(PartKind.SOCKET)], Level.FOREARM_LOWER, {"wrist_coupling"}),
        ([Seen(PartKind.PALM), *ARM], Level.FOREARM_LOWER, set()),
    ],
)
def test_only_what_such_a_device_has_can_lack(parts: list[Seen], level: Level, missing: set[str]) -> None:
    assert by_state(drawing(parts, Side.LEFT, level), "missing") == missing


def test_a_part_to_be_looked_at_carries_its_word() -> None:
    made = drawing([*HAND, *ARM, Seen(PartKind.STRAP), Seen(PartKind.STRAP, None, "held")], Side.LEFT)
    assert {each.key: each.word for each in made.areas if each.word} == {"strap": "held"}


def test_the_right_is_the_left_turned_over_and_its_words_are_not() -> None:
    left, right = (drawing([*HAND, *ARM, *INSIDE], side, Level.FOREARM_UPPER) for side in Side)
    assert (left.mirrored, right.mirrored) == (False, True)
    for one, other in zip(left.areas, right.areas, strict=True):
        assert (one.key, one.outline, one.label) == (other.key, other.outline, other.label)
        assert other.x == pytest.approx(WIDTH - one.x, abs=0.1)
    # Seen from the back, a left hand has its thumb on the right.
    assert next(each.x for each in left.areas if each.key == "thumb") > WIDTH / 2


@pytest.mark.parametrize("kind", list(PartKind))
def test_every_kind_of_part_is_drawn_and_big_enough_to_be_touched(kind: PartKind) -> None:
    digit = Digit.INDEX if kind is PartKind.FINGER else None
    made = drawing([Seen(kind, digit)], Side.LEFT, Level.FOREARM_UPPER)
    (area,) = [each for each in made.areas if each.state == "there"]
    assert area.key == area_key(kind, digit)
    left, top, right, bottom = box(area)
    assert right - left >= SMALLEST
    assert bottom - top >= SMALLEST
    assert left >= 0
    assert right <= WIDTH
    assert made.top <= top
    assert bottom <= made.top + made.height


def test_no_words_stand_on_one_another() -> None:
    many = [Seen(kind) for kind in PartKind if kind not in {PartKind.FINGER, PartKind.THUMB}]
    made = drawing([*HAND, *(each for each in many if each.kind is not PartKind.PALM)], Side.LEFT)
    assert {each.state for each in made.areas} == {"there"}
    for one, other in combinations(made.areas, 2):
        assert abs(one.y - other.y) > 14 or abs(one.x - other.x) > 44, (one.key, other.key)


def box(area: Area) -> tuple[float, float, float, float]:
    """The box around the points of an outline: left, top, right, bottom; curves may reach a little farther."""
    points = [(0.0, 0.0)]
    for letter, numbers in re.findall(r"([A-Za-z])([^A-Za-z]*)", area.outline):
        values = [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", numbers)]
        taken = {"Q": 4, "A": 7, "H": 1, "V": 1}.get(letter.upper(), 2)
        for start in range(0, len(values), taken):
            points.append(_end(points[-1], letter, values[start : start + taken]))
    xs, ys = zip(*points[1:], strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _end(start: tuple[float, float], letter: str, given: list[float]) -> tuple[float, float]:
    """Where a piece of a path ends; small letters count from where it starts."""
    x, y = start if letter.islower() else (0.0, 0.0)
    if letter in "Hh":
        return x + given[0], start[1]
    if letter in "Vv":
        return start[0], y + given[0]
    return x + given[-2], y + given[-1]
