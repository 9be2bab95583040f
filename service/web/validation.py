"""Pydantic's findings as ours: a field and a sentence, never the value sent (it may be health data, or NaN)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import ValidationError

from service.kit.errors import FieldError, Invalid

_PLACES = {"body", "query", "path", "header"}

_NOT_AN_OBJECT = {"model_attributes_type", "model_type", "dict_type"}
_A_DATE = 'Write the date as year-month-day, such as "2026-03-12"'
_A_NUMBER = "Write a number, such as 171.5"
_IN_WORDS = {
    "missing": "This is needed",
    "extra_forbidden": "This name is not known here. Check its spelling, or leave it out",
    "string_too_short": "Write something here",
    "string_too_long": "Keep this to {max_length} characters",
    "string_type": "Write text here",
    "enum": "Choose one of {expected}",
    "literal_error": "Choose one of {expected}",
    "bool_parsing": "Say true or false",
    "int_parsing": "Write a whole number",
    "int_from_float": "Write a whole number",
    "float_parsing": _A_NUMBER,
    "float_type": _A_NUMBER,
    "decimal_parsing": _A_NUMBER,
    "decimal_type": _A_NUMBER,
    "finite_number": "Write a number that has an end: not NaN, not infinity",
    "greater_than": "This must be more than {gt}",
    "greater_than_equal": "This must be {ge} or more",
    "less_than": "This must be less than {lt}",
    "less_than_equal": "This must be {le} or less",
    "too_short": "Give at least {min_length} of these",
    "too_long": "Give at most {max_length} of these",
    "date_parsing": _A_DATE,
    "date_from_datetime_parsing": _A_DATE,
    "json_invalid": "This is not valid JSON: {error}",
}
"""Findings that pydantic words for programmers, by their type."""


def field_errors(problems: Sequence[Any]) -> tuple[FieldError, ...]:
    """Each finding, its place as a dotted path such as `readings.0.values`."""
    return tuple(FieldError(_field(problem), _in_words(problem)) for problem in problems)


def _field(problem: Any) -> str:
    if problem["type"] == "json_invalid":  # its place is a count of characters
        return "body"
    return ".".join(str(part) for part in problem["loc"] if part not in _PLACES) or "body"


def _in_words(problem: Any) -> str:
    if problem["type"] in _NOT_AN_OBJECT and problem["loc"] == ("body",):
        return "Send a JSON object, with the header Content-Type: application/json"
    plain: str | None = _IN_WORDS.get(problem["type"])
    if plain is not None:
        return plain.format_map(problem.get("ctx", {}))
    return str(problem["msg"]).removeprefix("Value error, ")


def as_invalid(error: ValidationError) -> Invalid:
    """A failed validation as the refusal it is."""
    return Invalid("Nothing was stored. Some values need correcting.", fields=field_errors(error.errors()))
