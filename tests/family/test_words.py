"""What families read: every sentence in every language, and in English for a child."""

from __future__ import annotations

import re
from string import Formatter

import pytest
import textstat
from babel.messages.pofile import read_po
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.words.catalogue import FOLDER, languages, preferred, words
from tests.conftest import Register
from tests.devices.worn import device, opened, socket
from tests.family.people import let_in, link
from tests.family.sentences import every_sentence

OTHERS = [code for code in languages() if code != "en"]
PAGES = (
    "",
    "/skin",
    "/broken",
    "/broken?part=index",
    "/broken?part=other",
    "/socks",
    "/socks?plies=3",
    "/requests",
    "/how",
)
PLAIN = 6.0
"""School years by the automated readability index: a child of eleven has about six behind them."""
LONGEST = 15
"""Words in a sentence."""


def test_there_are_at_least_two_languages_more_and_one_runs_from_right_to_left():
    assert len(OTHERS) >= 2
    assert "rtl" in {words(code).direction for code in OTHERS}


@pytest.mark.parametrize("code", OTHERS)
def test_a_language_says_all_that_is_said_and_nothing_else(code: str):
    with (FOLDER / f"{code}.po").open("rb") as file:
        catalogue = read_po(file, locale=code)
    said = {str(each.id): str(each.string) for each in catalogue if each.id}
    assert set(said) == every_sentence()
    for sentence, translated in said.items():
        assert translated.strip(), sentence
        assert fields(translated) == fields(sentence), sentence
        assert translated != sentence or len(sentence) < 6
    assert "to be read by a native speaker" in (FOLDER / f"{code}.po").read_text().splitlines()[0]


def fields(sentence: str) -> set[str | None]:
    """What is filled in."""
    return {name for _, name, _, _ in Formatter().parse(sentence) if name}


def test_a_child_can_read_every_sentence():
    sentences = sorted(every_sentence())
    whole = " ".join(each if each[-1] in ".?:" else f"{each}." for each in sentences)
    assert textstat.automated_readability_index(whole) <= PLAIN
    for each in sentences:
        assert max(len(part.split()) for part in re.split(r"[.?:]", each)) <= LONGEST, each


def test_a_browser_is_answered_in_its_own_words_where_there_are_some():
    assert preferred("xx", None, "fr-BE, nl;q=0.8, en;q=0.5") == "nl"
    assert preferred("ar", "nl") == "ar"
    assert preferred(None, "../../etc/passwd") == "en"
    assert words("xx").code == "en"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.mark.parametrize("code", languages())
def test_every_page_is_shown_in_every_language(register: Register, coordinator: TestClient, code: str) -> None:
    number = opened(coordinator, language=code)
    socket(coordinator, number, device(coordinator, number))
    home = link(coordinator, number)
    stranger = register.browser().get("/family/nothing", headers={"Accept-Language": code})
    assert words(code)("This link does not work.") in stranger.text
    family = let_in(register, home)
    for page in (*PAGES, "/say", "/worry"):
        shown = family.get(home + page)
        assert shown.status_code == 200
        assert f'<html lang="{code}" dir="{words(code).direction}"' in shown.text
        if code != "en":
            said = [each for each in every_sentence() if len(each) > 12 and f">{each}<" in shown.text]
            assert not said, (page, said)


def test_a_language_chosen_once_stays(register: Register, coordinator: TestClient) -> None:
    home = link(coordinator, opened(coordinator))
    family = let_in(register, home)
    assert 'dir="rtl"' in family.get(f"{home}?lang=ar").text
    assert 'dir="rtl"' in family.get(f"{home}/skin").text
    assert 'dir="ltr"' in family.get(f"{home}?lang=nl").text
    assert 'lang="nl"' in family.get(f"{home}?lang=xx").text
