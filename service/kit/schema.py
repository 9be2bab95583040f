"""What every command and every view has in common."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

LARGEST_ID = 2**31 - 1

Id = Annotated[int, Field(ge=1, le=LARGEST_ID)]
"""An id in an address; the bound is the database column's."""


def _storable(text: str) -> str:
    if "\x00" in text:
        raise ValueError("This text holds a NUL character, which cannot be stored. Type it again")
    return text


Text = Annotated[str, StringConstraints(strip_whitespace=True, max_length=4000), AfterValidator(_storable)]
"""Text that may be empty."""

Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200), AfterValidator(_storable)]
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

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class View(BaseModel):
    """Something the register answers."""

    model_config = ConfigDict(frozen=True)
