"""Files that are broken, lie or mean harm: each is refused, or read with a doubt, by a sentence, and costs little."""

from __future__ import annotations

import re
import threading
import time
from typing import Any

import pytest

from service.geometry.answers import Axis, Format, LengthUnit
from service.geometry.reading import format_of, read
from service.kit.unfit import Unfit
from tests.conftest import Register
from tests.geometry.files import box, stl
from tests.geometry.hostile import BAD, HOSTILE

MOST_MB = 600  # of memory, with all that was loaded before
MOST_SECONDS = 15.0  # on a machine that does ten things at once; most take a hundredth of a second
SENTENCE = re.compile(r"[A-Z0-9][^\n]{20,600}[.!]")
INTERNAL = re.compile(r"Traceback|Error\b|errno|0x|None|<class|\.py\b|b'")


def told(name: str, content: bytes) -> list[str]:
    """What whoever sent the file is told; nothing if it was taken as it is."""
    try:
        file_format = format_of(name, content)
        unit = LengthUnit.MILLIMETRE if file_format is Format.STL else None
        return read(content, file_format, unit, Axis(), None).geometry.doubts
    except Unfit as unfit:
        return [unfit.message]


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_answered_by_a_sentence_and_costs_little(name: str, logged: list[Any]) -> None:
    maker, says = BAD[name]
    content = maker()
    started = time.monotonic()
    sentences = told(name, content)
    assert time.monotonic() - started < MOST_SECONDS
    assert any(re.search(says, each) for each in sentences), sentences
    assert all(SENTENCE.fullmatch(each) for each in sentences), sentences
    assert not any(INTERNAL.search(each) for each in sentences), sentences
    # Refused with its reason, not by running into a bound or a fault of ours.
    assert {entry["event"] for entry in logged} <= {"file_read"}
    assert all(entry["max_rss_mb"] < MOST_MB for entry in logged)


def test_there_are_many_and_each_is_another() -> None:
    assert len(HOSTILE) >= 60
    assert len({maker() for maker in HOSTILE.values()}) >= len(HOSTILE) - 4  # empty ones, and good ones by a wrong name


def test_a_good_file_is_told_nothing_and_its_cost_is_logged(logged: list[Any]) -> None:
    assert told("part.stl", stl(box())) == []
    [entry] = logged
    assert entry["taken"] is True
    assert entry["triangles"] == 12
    assert 5 < entry["max_rss_mb"] < MOST_MB


def test_the_service_answers_others_while_bad_files_are_read(register: Register) -> None:
    """One after the other goes through the children, over and over, until ten pages have come meanwhile."""
    asked_for = ["bomb_in_many.3mf", "tower_of_tens.3mf", "millions_of_triangles.3mf", "endless_value.3mf", "deep.3mf"]
    files = {name: HOSTILE[name]() for name in asked_for}
    answers: list[list[str]] = []
    enough = threading.Event()

    def read_on() -> None:
        while not enough.is_set():
            answers.extend(told(name, each) for name, each in files.items())

    browser = register.browser()
    reader = threading.Thread(target=read_on)
    reader.start()
    try:
        for _ in range(10):
            assert browser.get("/sign-in").status_code == 200
            assert reader.is_alive()
    finally:
        enough.set()
        reader.join()
    assert len(answers) >= len(files)
    assert all(answers)
