"""Languages, read from their files when first asked for. English is what templates and tables of words say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from babel import Locale
from babel.dates import format_date
from babel.messages.pofile import read_po

FOLDER = Path(__file__).with_name("locale")
ENGLISH = "en"


@dataclass(frozen=True)
class Words:
    """A language as a page needs it. Calling it says a sentence; what is in braces is filled in."""

    code: str
    sentences: Mapping[str, str]

    def __call__(self, sentence: str, **filled: object) -> str:
        """The sentence in this language."""
        said = self.sentences.get(sentence) or sentence
        return said.format(**filled) if filled else said

    @property
    def name(self) -> str:
        """What the language calls itself."""
        return Locale(self.code).get_display_name() or self.code

    @property
    def direction(self) -> str:
        """Which way it runs: `ltr` or `rtl`."""
        return Locale(self.code).text_direction

    def day(self, on: date) -> str:
        """A day as people say it, without its year."""
        return format_date(on, "d MMMM", locale=self.code)

    def month(self, number: int) -> str:
        """The name of a month, standing alone."""
        return Locale(self.code).months["stand-alone"]["wide"][number]  # type: ignore[no-any-return]


@cache
def languages() -> tuple[str, ...]:
    """The languages that pages can be read in, English first."""
    return (ENGLISH, *sorted(path.stem for path in FOLDER.glob("*.po")))


@cache
def words(code: str) -> Words:
    """A language; English for one that has no file."""
    if code == ENGLISH or code not in languages():
        return Words(ENGLISH, {})
    with (FOLDER / f"{code}.po").open("rb") as file:
        catalogue = read_po(file, locale=code)
    said = {each.id: each.string for each in catalogue if isinstance(each.id, str) and isinstance(each.string, str)}
    return Words(code, {sentence: translated for sentence, translated in said.items() if sentence and translated})


def preferred(*wishes: str | None) -> str:
    """The first of some wishes, as codes or as a browser lists them, that there is a file for; else English."""
    for wish in wishes:
        for each in (wish or "").split(","):
            code = each.partition(";")[0].partition("-")[0].strip().lower()
            if code in languages():
                return code
    return ENGLISH
