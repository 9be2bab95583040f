"""Builds as lists show them, and what each is of in words. Part of another act."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.rules import part_called
from service.builds.rules import UNDER_WAY
from service.builds.schemas import (
    BuildLine,
)
from service.builds.tables import BuildItemRow


def lines(work: Work, rows: Sequence[Any]) -> list[BuildLine]:
    """Rows of `_lines` as a list shows them."""
    what = words_of(work, {row.id for row in rows})
    return [
        BuildLine.model_validate(
            {
                **row._mapping,
                "request": row.request_id,
                "volunteer": row.volunteer_id,
                "case_number": row.case_number if row.sees_case else None,
                "given_name": row.given_name if row.sees_case else None,
                "what": what.get(row.id, "not chosen yet"),
                "late": row.state in UNDER_WAY and row.deadline < work.today,
            }
        )
        for row in rows
    ]


def words_of(work: Work, ids: Collection[int]) -> dict[int, str]:
    """What builds are of, in words: "index finger, palm"."""
    found: defaultdict[int, list[str]] = defaultdict(list)
    rows = sa.select(BuildItemRow).where(BuildItemRow.build_id.in_(ids)).order_by(BuildItemRow.id)
    for row in work.session.scalars(rows):
        many = f"{row.quantity} times " if row.quantity > 1 else ""
        found[row.build_id].append(f"{many}{part_called(row.kind, row.digit)}")
    return {each: ", ".join(words) for each, words in found.items()}
