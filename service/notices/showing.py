"""How a notice is shown: family by family, those first who may still be in danger."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

from service.notices.rules import Answer, Todo
from service.notices.schemas import AffectedDevice

_FIRST = (Answer.STILL_WORN, None, Answer.LOOKED, Answer.NOT_WORN, Answer.STOPPED)
"""Who still uses it comes first, then who has not said anything, then who is out of danger."""


class Household(NamedTuple):
    """A family that still has affected devices."""

    first: AffectedDevice
    devices: list[AffectedDevice]


def households(devices: Sequence[AffectedDevice]) -> list[Household]:
    """The affected devices by family, the most pressing first."""
    ordered = sorted(devices, key=lambda each: (each.case_number, each.device))
    found = [list(group) for _number, group in groupby(ordered, key=lambda each: each.case_number)]
    return [Household(group[0], group) for group in sorted(found, key=lambda each: _FIRST.index(each[0].answer))]


def answers(todo: Todo) -> list[tuple[Answer, str]]:
    """What a family may say, as the buttons have it: to have looked answers only a notice that asks to look."""
    said = {
        Answer.STOPPED: "They stopped using it",
        Answer.NOT_WORN: "They were not using it",
        Answer.LOOKED: "They looked and found nothing",
        Answer.STILL_WORN: "They still use it",
    }
    return [(each, words) for each, words in said.items() if each is not Answer.LOOKED or todo is Todo.LOOK]


def shape(answer: Answer | None) -> str:
    """The mark of an answer: what is still worn is a warning, what was not answered is empty."""
    return {None: "ring", Answer.STILL_WORN: "triangle"}.get(answer, "half")
