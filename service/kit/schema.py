"""What every command and every view has in common."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any
from unicodedata import category

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

LARGEST_ID = 2**31 - 1

Id = Annotated[int, Field(ge=1, le=LARGEST_ID)]
"""An id in an address; the bound is the database column's."""


def _storable(text: str) -> str:
    unfit = {category(character) for character in text if character not in "\n\r\t"} & {"Cc", "Cs"}
    if unfit:
        raise ValueError("This text holds a character that cannot be stored. Type it again")
    return text


# Characters that turn the direction of what follows: a name could be made to read as another.
_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _one_visible_line(text: str) -> str:
    if not text.isprintable() and any(character in "\n\r\t" or character in _TURNS for character in text):
        raise ValueError("Write this on one line, without hidden marks")
    if all(category(character)[0] in "CZ" for character in text):
        raise ValueError("Write something that can be seen")
    return text


def _lines_end_plainly(text: Any) -> Any:
    return text.replace("\r\n", "\n") if isinstance(text, str) else text  # as browsers send them


Text = Annotated[
    str,
    BeforeValidator(_lines_end_plainly),
    StringConstraints(strip_whitespace=True, max_length=4000),
    AfterValidator(_storable),
]
"""Text that may be empty."""

Line = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=200),
    AfterValidator(_storable),
    AfterValidator(_one_visible_line),
]
"""A line that must say something."""


def _iso_date(value: Any) -> Any:
    # Pydantic would take a number for seconds since 1970; a date of birth must not be guessed.
    if isinstance(value, str | date):
        return value
    raise ValueError('Write the date as year-month-day, such as "2026-03-12"')


Day = Annotated[date, BeforeValidator(_iso_date)]
"""A calendar day, ISO 8601."""


class Command(BaseModel):
    """Something somebody asks for. Unknown names are refused: a misspelt field must not be lost in silence."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, hide_input_in_errors=True)


class View(BaseModel):
    """Something the register answers."""

    model_config = ConfigDict(frozen=True, hide_input_in_errors=True)
