"""What is true of a recipient without asking a database: words, case numbers, reviews."""

from __future__ import annotations

import enum
import unicodedata
from datetime import date

from service.kit.clock import age_on


class Side(enum.StrEnum):
    """Which side of the body."""

    LEFT = "left"
    RIGHT = "right"


class Sex(enum.StrEnum):
    """Which growth reference applies; `unspecified` uses both and says so."""

    FEMALE = "female"
    MALE = "male"
    UNSPECIFIED = "unspecified"


class Cause(enum.StrEnum):
    """Present at birth (described as ISO 8548-1 does) or after amputation (as ISO 8548-3 does)."""

    CONGENITAL = "congenital"
    ACQUIRED = "acquired"


class Level(enum.StrEnum):
    """Where the limb ends, from the fingers up."""

    PHALANGEAL = "phalangeal"
    METACARPAL = "metacarpal"
    CARPAL = "carpal"
    WRIST = "wrist"
    FOREARM_LOWER = "forearm_lower"
    FOREARM_MIDDLE = "forearm_middle"
    FOREARM_UPPER = "forearm_upper"
    ELBOW = "elbow"
    UPPER_ARM_LOWER = "upper_arm_lower"
    UPPER_ARM_MIDDLE = "upper_arm_middle"
    UPPER_ARM_UPPER = "upper_arm_upper"
    SHOULDER = "shoulder"

    @property
    def is_above_forearm(self) -> bool:
        """Whether nothing of the forearm is left: the limb ends at the elbow or above."""
        return self in _ABOVE_THE_FOREARM


_ABOVE_THE_FOREARM = frozenset(list(Level)[list(Level).index(Level.ELBOW) :])


class CaseState(enum.StrEnum):
    """Where a case stands."""

    ENQUIRY = "enquiry"
    ACTIVE = "active"
    PAUSED = "paused"
    CLOSED = "closed"


class Responsibility(enum.StrEnum):
    """Whether a contact holds parental responsibility."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Reach(enum.StrEnum):
    """How somebody wants to be reached."""

    MAIL = "mail"
    TEXT = "text"
    PHONE = "phone"
    LETTER = "letter"


class ConsentKind(enum.StrEnum):
    """Consent is given by whoever may decide; assent is a child's own yes, in the child's own way."""

    CONSENT = "consent"
    ASSENT = "assent"


class Purpose(enum.StrEnum):
    """What was agreed to; each is asked for separately."""

    RECORDS = "records"
    DEVICE = "device"
    FIRST_NAME = "first_name"
    PHOTOGRAPHS = "photographs"
    STATISTICS = "statistics"


class Verdict(enum.StrEnum):
    """A clinician's note before a first device."""

    SUITABLE = "suitable"
    NOT_YET = "not_yet"
    NOT = "not"


DIGITS = 6


def check_digit(digits: str) -> str:
    """The ISO/IEC 7064 MOD 11,10 check digit of a string of digits: it catches every wrong digit and most swaps."""
    carry = 10
    for digit in digits:
        carry = (int(digit) + carry) % 10 or 10
        carry = carry * 2 % 11
    return str((11 - carry) % 10)


def case_number(number: int) -> str:
    """The case number of a number below a million: `482913` becomes `482-913n`, n being the check digit."""
    digits = f"{number:0{DIGITS}d}"
    return f"{digits[:3]}-{digits[3:]}{check_digit(digits)}"


def read_case_number(text: str) -> str | None:
    """A case number as somebody typed it, with or without gaps, in the form we keep; None when it is not one."""
    digits = "".join(character for character in text if character.isascii() and character.isdigit())
    others = set(text) - set("0123456789 -\u2010\u2011\u2013.")
    if others or len(digits) != DIGITS + 1 or check_digit(digits[:-1]) != digits[-1]:
        return None
    return f"{digits[:3]}-{digits[3:]}"


# Letters that Unicode does not take apart into a plain one and a mark.
_WHOLE_LETTERS = str.maketrans(
    {
        "ł": "l",
        "ø": "o",
        "đ": "d",
        "ð": "d",
        "þ": "th",
        "\N{LATIN SMALL LETTER DOTLESS I}": "i",
        "æ": "ae",
        "œ": "oe",
        "ħ": "h",
        "ŧ": "t",
    }
)


def fold(text: str) -> str:
    """Letters as they are searched for: without case, accents or doubled spaces ("Zoë  Müller" is "zoe muller")."""
    plain = unicodedata.normalize("NFKD", text.casefold().translate(_WHOLE_LETTERS))
    return " ".join("".join(character for character in plain if not unicodedata.combining(character)).split())


ADULT_AGE = 18
ASSENT_FROM_AGE = 3
"""From about here a child can say yes or no in a way of its own (common practice; local rules decide)."""

REVIEW_AGES = (16, ADULT_AGE)
"""Birthdays at which what is theirs passes to the recipient; local law and practice decide what exactly."""


def birthday(birth_date: date, age: int) -> date:
    """The day somebody reaches an age; 1 March for those born on 29 February when there is none."""
    try:
        return birth_date.replace(year=birth_date.year + age)
    except ValueError:
        return date(birth_date.year + age, 3, 1)


_SHORTENED_AT = {
    Level.PHALANGEAL: "the fingers",
    Level.METACARPAL: "the middle of the hand",
    Level.CARPAL: "the base of the hand",
    Level.WRIST: "the wrist",
    Level.FOREARM_LOWER: "the lower third of the forearm",
    Level.FOREARM_MIDDLE: "the middle third of the forearm",
    Level.FOREARM_UPPER: "the upper third of the forearm",
    Level.ELBOW: "the elbow",
    Level.UPPER_ARM_LOWER: "the lower third of the upper arm",
    Level.UPPER_ARM_MIDDLE: "the middle third of the upper arm",
    Level.UPPER_ARM_UPPER: "the upper third of the upper arm",
    Level.SHOULDER: "the shoulder",
}
_AMPUTATION = {
    Level.PHALANGEAL: "finger amputation",
    Level.METACARPAL: "partial hand amputation through the metacarpals",
    Level.CARPAL: "partial hand amputation through the carpals",
    Level.WRIST: "wrist disarticulation",
    Level.ELBOW: "elbow disarticulation",
    Level.SHOULDER: "shoulder disarticulation",
}


def limb_in_words(side: Side, cause: Cause, level: Level) -> str:
    """A limb difference said as its standard does: transverse deficiency (ISO 8548-1) or amputation (ISO 8548-3)."""
    place = _SHORTENED_AT[level]
    if cause is Cause.CONGENITAL:
        return f"{side} transverse deficiency at {place}"
    kind = _AMPUTATION.get(level) or (
        "transradial amputation" if level.value.startswith("forearm") else "transhumeral amputation"
    )
    third = f", {place}" if level not in _AMPUTATION else ""
    return f"{side} {kind}{third}"


OLDEST_YEARS = 120


def birth_date_problem(birth_date: date, today: date) -> str | None:
    """What is wrong with a birth date, or None."""
    if birth_date > today:
        return "This birth date is in the future. Check the year."
    if age_on(birth_date, today) > OLDEST_YEARS:
        return f"This birth date is more than {OLDEST_YEARS} years ago. Check the year."
    return None


def past_day_problem(day: date, birth_date: date, today: date) -> str | None:
    """What is wrong with the day something happened to a recipient, or None."""
    if day > today:
        return "This day has not come yet. Give the day it happened."
    if day < birth_date:
        return "This day is before the recipient was born. Check the year."
    return None


def still_needed(
    *,
    age: int,
    limbs: int,
    guardians: int,
    consents: frozenset[tuple[ConsentKind, Purpose]],
    suitability: Verdict | None,
    prescriber: str,
    latex_asked: bool,
) -> list[str]:
    """What a case still lacks before a device is made, as short phrases; empty when nothing is."""
    is_child = age < ADULT_AGE
    lacks = {
        "a description of the limb": limbs == 0,
        "a contact with parental responsibility": is_child and guardians == 0,
        "consent to keeping records": (ConsentKind.CONSENT, Purpose.RECORDS) not in consents,
        "consent to the device": (ConsentKind.CONSENT, Purpose.DEVICE) not in consents,
        "the child's own assent": ASSENT_FROM_AGE <= age < ADULT_AGE
        and (ConsentKind.ASSENT, Purpose.DEVICE) not in consents,
        "a clinician's note that a device is suitable": suitability is not Verdict.SUITABLE,
        "a prescriber": not prescriber,
        "an answer about latex allergy": not latex_asked,
    }
    return [what for what, lacking in lacks.items() if lacking]
