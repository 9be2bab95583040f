"""What families are told: `FAMILY` is the one table, so that nothing can be sent which a language lacks.

Sentences are looked up in `service/words`, as those of a family's pages are: short, plain, in English for a child.
"""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from service.recipients.languages import LANGUAGES
from service.words.catalogue import ENGLISH, Words, words


class FamilyMessage(enum.StrEnum):
    """One kind of thing that a family is told; its value begins the key of each such message."""

    LINK = "family-link"
    MAKING = "family-making"
    NOTICE_STOP = "family-notice-stop"
    NOTICE_LOOK = "family-notice-look"
    FITTED = "family-fitted"
    HOW_IT_GOES = "family-how-it-goes"
    CALL_HOW_IT_GOES = "family-call-how-it-goes"


@dataclass(frozen=True, slots=True)
class FamilyText:
    """A subject and the sentences of one paragraph; what is in braces is filled in.

    What is `needed` comes even to who wants no mail, though not in quiet hours; any other is a kindness.
    """

    subject: str
    sentences: tuple[str, ...]
    needed: bool = False

    def said(self, language: Words, path: str, filled: Mapping[str, object]) -> tuple[str, str]:
        """Subject and body in a language; a path stands alone, so that it goes out as an address."""
        paragraph = " ".join(language(each, **filled) for each in self.sentences)
        return language(self.subject, **filled), "\n\n".join(each for each in (paragraph, path) if each)


FAMILY: Final[Mapping[FamilyMessage, FamilyText]] = MappingProxyType(
    {
        FamilyMessage.LINK: FamilyText(
            "Your link to our pages",
            (
                "Hello.",
                "This link is for you and your family.",
                "There you can tell us that something broke, or that it hurts.",
                "You can also tell us which socks are worn.",
                "Please keep the link to yourselves.",
                "We ask once for a month and a year of birth.",
            ),
            needed=True,
        ),
        FamilyMessage.MAKING: FamilyText(
            "Somebody is making something for you",
            (
                "Hello.",
                "Good news: somebody is making something for you.",
                "You need not do anything now.",
                "Open your link to see when you may have it.",
            ),
        ),
        FamilyMessage.NOTICE_STOP: FamilyText(
            "Safety notice: please stop using a part",
            (
                "A part of the device may not be safe.",
                "Please stop using it today, and keep it.",
                "Do not mend it.",
                "Why: {why}",
                "Ring us: {phone}.",
                "We send another part.",
                "If somebody is hurt, see a doctor today, and tell us.",
            ),
            needed=True,
        ),
        FamilyMessage.NOTICE_LOOK: FamilyText(
            "Safety notice: please look at a part",
            (
                "A part of the device may not be safe.",
                "Please look at it today.",
                "If it is cracked, loose or sharp, stop using it.",
                "Why: {why}",
                "Ring us: {phone}.",
                "If somebody is hurt, see a doctor today, and tell us.",
            ),
            needed=True,
        ),
        FamilyMessage.FITTED: FamilyText(
            "It is fitted",
            (
                "Thank you for trying it on.",
                "Wear it a little longer each day.",
                "Look at the skin every time.",
                "If it hurts, rubs or breaks, stop wearing it and tell us.",
                "In a week we ask how it goes.",
            ),
            needed=True,
        ),
        FamilyMessage.HOW_IT_GOES: FamilyText(
            "How is it going?",
            (
                "Hello.",
                "We would like to know how you get on with the device.",
                "Open your link and answer a few short questions.",
                "You can leave out any question.",
                "If it hurts, rubs or breaks, stop wearing it and tell us.",
            ),
        ),
        FamilyMessage.CALL_HOW_IT_GOES: FamilyText(
            "Ring to ask how it goes",
            (
                "Hello.",
                "We would like to know how you get on with the device.",
                "May we ask a few short questions?",
                "You can leave out any question.",
            ),
        ),
    }
)
"""What is said, by kind."""


def written(message: FamilyMessage, code: str, path: str, filled: Mapping[str, object]) -> tuple[str, str]:
    """Subject and body of what a family reads."""
    return FAMILY[message].said(words(code), path, filled)


def for_a_caller(message: FamilyMessage, code: str, path: str, filled: Mapping[str, object]) -> tuple[str, str]:
    """Subject and body for whoever rings: in English, then in the family's words, to read out or to send as a text."""
    subject, body = written(message, ENGLISH, path, filled)
    if code == ENGLISH:
        return subject, body
    theirs = written(message, code, "", filled)[1]
    return subject, f"{body}\n\nIn {LANGUAGES[code]}, to read out or to send:\n\n{theirs}"


def subject_in_english(key: str, language: str) -> str:
    """What a message in another language is about, for those of the charity who do not read it; empty in English."""
    found = _text_of(key)
    return found.subject if found is not None and language != ENGLISH else ""


def is_needed(key: str) -> bool:
    """Whether a message, by its key, comes even to who wants no mail; what is urgent does too."""
    found = _text_of(key)
    return found is not None and found.needed


def _text_of(key: str) -> FamilyText | None:
    prefix = key.partition(":")[0]
    return FAMILY[FamilyMessage(prefix)] if prefix in set(FamilyMessage) else None
