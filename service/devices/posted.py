"""What the device forms post, read into what the commands take: socks as people write them, limits row by row."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any

from starlette.datastructures import FormData

from service.anthropometry.dimensions import CATALOGUE, Dimension
from service.devices.rules import read_socks, usual_limits
from service.devices.schemas import LimitView
from service.kit.errors import FieldError, Invalid
from service.recipients.rules import Level
from service.web.forms import filled

OTHER = "other"
"""The choice of socks that the free field beside it spells out."""


@dataclass(frozen=True)
class LimitRowShown:
    """A row of the limits in a socket's form: the dimension is fixed, or None for one to choose.

    `before` is the same limit of the socket before, or None.
    """

    dimension: Dimension | None
    label: str
    needs_level: bool
    before: LimitView | None = None


def limit_rows(ends_at: Level | None, before: Sequence[LimitView]) -> list[LimitRowShown]:
    """The rows of the form: what the socket before was limited by, then what is usual, then one to choose freely."""
    had = {limit.dimension for limit in before}
    shown = [_row(limit.dimension, limit) for limit in before]
    shown += [_row(dimension) for dimension in usual_limits(ends_at) if dimension not in had]
    return [*shown, LimitRowShown(None, "something else", needs_level=True)]


def read_socket(form: FormData) -> tuple[dict[str, Any], list[int]]:
    """A command's values, and the form's row number of each limit; a row nobody wrote a size in is left out."""
    given = filled(form)
    values: dict[str, Any] = {
        name: value for name, value in given.items() if not name.startswith(("limits.", "previous."))
    }
    written = {
        int(found[1]) for name in given if (found := re.fullmatch(r"limits\.(\d{1,2})\.(level|tight_at)_mm", name))
    }
    rows = sorted(written)
    if not rows:
        raise Invalid.at("limits.0.tight_at_mm", "Type at least one limit: without it no forecast can be made.")
    values["limits"] = [_limit(given, row) for row in rows]
    values["socks_at_fitting"] = _socks("socks_at_fitting", given.get("socks_at_fitting", ""))
    previous = {part: given[f"previous.{part}"] for part in ("ended_on", "end_reason") if f"previous.{part}" in given}
    if previous:
        values["previous"] = previous
    return values, rows


@contextmanager
def limits_at_their_rows(rows: Sequence[int]) -> Iterator[None]:
    """A refusal counts the limits that were sent; inside this block it points at the form's rows instead."""
    try:
        yield
    except Invalid as refusal:

        def at_row(found: re.Match[str]) -> str:
            return f"limits.{rows[int(found[1])]}."

        moved = [FieldError(re.sub(r"^limits\.(\d+)\.", at_row, each.field), each.message) for each in refusal.fields]
        raise Invalid(refusal.detail, fields=tuple(moved)) from refusal


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


def _row(dimension: Dimension, before: LimitView | None = None) -> LimitRowShown:
    facts = CATALOGUE[dimension]
    return LimitRowShown(dimension, facts.label, facts.needs_level, before)


def _limit(given: dict[str, str], row: int) -> dict[str, str]:
    parts = {part: given.get(f"limits.{row}.{part}") for part in ("dimension", "level_mm", "tight_at_mm")}
    return {part: text if part == "dimension" else text.replace(",", ".") for part, text in parts.items() if text}


def _socks(field: str, text: str) -> tuple[int, ...]:
    try:
        return read_socks(text)
    except ValueError as problem:
        raise Invalid.at(field, str(problem)) from problem
