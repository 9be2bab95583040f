"""Pydantic's findings as ours: a field and a sentence, never the value sent (it may be health data, or NaN)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import ValidationError

from service.kit.errors import FieldError, Invalid

_PLACES = {"body", "query", "path", "header"}


def field_errors(problems: Sequence[Any]) -> tuple[FieldError, ...]:
    """Each finding, its place as a dotted path such as `readings.0.values`."""
    return tuple(
        FieldError(
            ".".join(str(part) for part in problem["loc"] if part not in _PLACES) or "body",
            problem["msg"].removeprefix("Value error, "),
        )
        for problem in problems
    )


def as_invalid(error: ValidationError) -> Invalid:
    """A failed validation as the refusal it is."""
    return Invalid("Nothing was stored. Some values need correcting.", fields=field_errors(error.errors()))
