"""What the device forms post, read into what the commands take: socks as people write them, limits row by row."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from typing import Any

from starlette.datastructures import FormData

from service.anthropometry.units import in_millimetres
from service.devices.rules import read_socks
from service.devices.schemas import EndPrevious
from service.kit.errors import Doubt, Doubted, FieldError, Invalid
from service.web.forms import filled

OTHER = "other"
"""The choice of socks that the free field beside it spells out."""

MOST_ROWS = 100
"""Rows of limits that are read; no form has so many."""


def read_socket(form: FormData) -> tuple[dict[str, Any], list[int]]:
    """A command's values, and the form's row number of each limit; a row left as it was offered is left out."""
    given = filled(form)
    values: dict[str, Any] = {
        name: value for name, value in given.items() if not name.startswith(("limits.", "previous."))
    }
    rows = [row for row in range(MOST_ROWS) if _is_written(given, row)]
    if not rows:
        raise Invalid.at(
            "limits.0.tight_at_mm", "Type at least one size at which it is tight: without it no forecast can be made."
        )
    values["limits"] = [_limit(given, row) for row in rows]
    values["socks_at_fitting"] = _socks("socks_at_fitting", given.get("socks_at_fitting", ""))
    previous = {part: given[f"previous.{part}"] for part in EndPrevious.model_fields if f"previous.{part}" in given}
    if previous:
        values["previous"] = previous
    return values, rows


def _is_written(given: dict[str, str], row: int) -> bool:
    level = given.get(f"limits.{row}.level_mm")
    return f"limits.{row}.tight_at_mm" in given or level not in {None, given.get(f"limits.{row}.offered")}


@contextmanager
def limits_at_their_rows(rows: Sequence[int]) -> Iterator[None]:
    """A refusal counts the limits that were sent; inside this block it points at the form's rows instead."""
    try:
        yield
    except Doubted as refusal:
        raise Doubted(tuple(Doubt(_at_row(each.field, rows), each.message) for each in refusal.doubts)) from refusal
    except Invalid as refusal:
        moved = tuple(FieldError(_at_row(each.field, rows), each.message) for each in refusal.fields)
        raise Invalid(refusal.detail, fields=moved) from refusal


def read_report(form: FormData, today: date) -> dict[str, Any]:
    """A sock report's values: one of the usual choices, or other socks written out. The day is today unless given."""
    given: dict[str, Any] = {"on": today, **filled(form)}
    chosen, written = given.pop("plies", None), given.pop("other", "")
    if chosen is None and not written:
        raise Invalid.at("plies", "Say which socks were worn, or that there were none.")
    if chosen in {None, OTHER}:
        if not written:
            raise Invalid.at("other", "Write the number on each sock's label, such as 3 + 1.")
        return {**given, "plies": _socks("other", written)}
    if written:
        raise Invalid.at("plies", "You chose one thing and wrote another. Choose other socks, or clear what you wrote.")
    return {**given, "plies": _socks("plies", chosen)}


def _at_row(field: str, rows: Sequence[int]) -> str:
    return re.sub(r"^limits\.(\d+)\.", lambda found: f"limits.{rows[int(found[1])]}.", field)


def _limit(given: dict[str, str], row: int) -> dict[str, str]:
    parts = {part: given.get(f"limits.{row}.{part}") for part in ("dimension", "level_mm", "tight_at_mm")}
    return {part: text if part == "dimension" else in_millimetres(text) for part, text in parts.items() if text}


def _socks(field: str, text: str) -> tuple[int, ...]:
    try:
        return read_socks(text)
    except ValueError as problem:
        raise Invalid.at(field, str(problem)) from problem
