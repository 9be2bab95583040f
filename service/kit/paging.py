"""Lists by keyset: a page is found by where the last one ended, so page 1,000 costs what page 1 does."""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence
from typing import Annotated, Any, Generic, TypeVar

import sqlalchemy as sa
from pydantic import Field
from sqlalchemy.orm import InstrumentedAttribute

from service.kit.errors import Invalid
from service.kit.schema import LARGEST_ID, Command, View

T = TypeVar("T")

Cursor = Annotated[str | None, Field(max_length=500, description="`next` of the page before.")]
Limit = Annotated[int, Field(ge=1, le=200, description="At most so many items.")]


class Listing(Command):
    """Which page of a list is wanted; a list's own filter adds to it, since one model must hold the whole query."""

    cursor: Cursor = None
    limit: Limit = 50


class Page(View, Generic[T]):
    """Some items, and the cursor of the next page or null."""

    items: list[T]
    next: str | None = None


def encode(key: Sequence[str | int]) -> str:
    """A cursor: the sort key of the last item shown, opaque to callers."""
    return base64.urlsafe_b64encode(json.dumps(list(key)).encode()).decode().rstrip("=")


def decode(cursor: str, kinds: Sequence[type]) -> list[Any]:
    """The sort key in a cursor; raises Invalid when it is not one of ours."""
    try:
        key = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
    except ValueError:
        key = None
    if not isinstance(key, list) or [type(part) for part in key] != list(kinds) or not all(map(_storable, key)):
        raise Invalid.at("cursor", "This cursor is not valid. Start again from the first page, without a cursor.")
    return key


def _storable(part: str | int) -> bool:
    """Whether the database can compare it with a column: a made-up cursor is refused, not a database error."""
    return abs(part) <= LARGEST_ID if isinstance(part, int) else "\x00" not in part


def after(
    columns: Sequence[sa.ColumnElement[Any] | InstrumentedAttribute[Any]], key: Sequence[Any]
) -> sa.ColumnElement[bool]:
    """Rows that come after a key in ascending order of the columns."""
    typed = (sa.literal(part, column.type) for column, part in zip(columns, key, strict=True))
    return sa.tuple_(*columns) > sa.tuple_(*typed)
