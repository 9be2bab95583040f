"""Rows of this room as views, and the SQL that fetches them; `queries.py` decides what may be fetched."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.work import Work
from service.kit.days import full_day
from service.parts.answers import (
    DesignLine,
    FileView,
    ShapeView,
    Step,
    SuccessorView,
    VersionFacts,
    VersionLine,
    VersionView,
)
from service.parts.rules import PartKind
from service.parts.tables import DesignRow, ShapeRow, VersionRow
from service.recipients.scope import visible
from service.recipients.tables import RecipientRow

NEWEST_FIRST = VersionRow.number.desc()

LINE = sa.select(
    *(VersionRow.id, VersionRow.design_id, VersionRow.shape_id, VersionRow.number, VersionRow.state),
    *(VersionRow.what_changed, VersionRow.why, VersionRow.created_at, VersionRow.created_by),
    *(VersionRow.released_at, VersionRow.released_by, VersionRow.released_why),
    *(VersionRow.withdrawn_at, VersionRow.withdrawn_by, VersionRow.withdrawn_why),
)
"""SQL: versions as a list shows them."""

_OF = (
    *(DesignRow.name.label("design_name"), DesignRow.kind, DesignRow.digit, DesignRow.side.label("design_side")),
    *(ShapeRow.side.label("shape_side"), ShapeRow.taken_on, ShapeRow.recipient_id, RecipientRow.case_number),
)
VERSION = (
    sa.select(VersionRow.__table__, *_OF)
    .outerjoin(DesignRow, DesignRow.id == VersionRow.design_id)
    .outerjoin(ShapeRow, ShapeRow.id == VersionRow.shape_id)
    .outerjoin(RecipientRow, RecipientRow.id == ShapeRow.recipient_id)
)
"""SQL: whole versions, with what they are versions of and whom they are private to."""


def seen(work: Work) -> sa.ColumnElement[bool]:
    """SQL: a version of a design, or a private one whose case the actor may see."""
    cases = visible(work.actor, work.today) if work.actor.can(May.SEE_CASES) else sa.false()
    return sa.or_(VersionRow.design_id.is_not(None), cases)


def step(row: Mapping[Any, Any], done: str) -> Step | None:
    """When, by whom and why something was done to a row, if it was."""
    at = row[f"{done}_at"]
    return None if at is None else Step(at=at, by=row[f"{done}_by"], why=row[f"{done}_why"])


def line(row: Mapping[Any, Any]) -> VersionLine:
    """A version in a list."""
    steps = {done: step(row, done) for done in ("released", "withdrawn")}
    return VersionLine.model_validate({**row, "design": row["design_id"], "shape": row["shape_id"], **steps})


def lines_of(work: Work, column: Any, ids: Collection[int]) -> defaultdict[int, list[VersionLine]]:
    """The versions of some designs, or of some shapes, by whose they are; newest first."""
    found: defaultdict[int, list[VersionLine]] = defaultdict(list)
    for row in work.session.execute(LINE.where(column.in_(ids)).order_by(NEWEST_FIRST)).mappings():
        found[row[column.key]].append(line(row))
    return found


def design_line(row: Mapping[Any, Any], versions: list[VersionLine]) -> DesignLine:
    """A design in a list."""
    released = next((each for each in versions if each.released and not each.withdrawn), None)
    return DesignLine.model_validate({**row, "released": released, "newest": next(iter(versions), None)})


def name(row: Mapping[Any, Any]) -> str:
    """How a sentence calls a version."""
    if row["design_id"] is not None:
        return f"{row['design_name']}, version {row['number']}"
    return f"{row['shape_side']} socket of the shape of {full_day(row['taken_on'])}, version {row['number']}"


def facts(work: Work, rows: Collection[Mapping[Any, Any]]) -> list[VersionFacts]:
    """Versions as other rooms need them."""
    successors = _successors(work, rows)
    return [VersionFacts.model_validate(_facts(row, successors)) for row in rows]


def whole(work: Work, row: Mapping[Any, Any]) -> VersionView:
    """A whole version."""
    steps = {done: step(row, done) for done in ("released", "withdrawn")}
    return VersionView.model_validate({**_facts(row, _successors(work, [row])), "file": file(row), **steps})


def file(row: Mapping[Any, Any]) -> FileView:
    """The file of a version or of a shape."""
    named = {part: row[f"file_{part}"] for part in ("name", "bytes", "sha256")}
    return FileView(**named, **{part: row[part] for part in ("format", "unit", "picture_sha256")})


def shape_view(row: Mapping[Any, Any], versions: list[VersionLine]) -> ShapeView:
    """A shape with the versions made from it."""
    return ShapeView.model_validate({**row, "file": file(row), "struck": step(row, "struck"), "versions": versions})


def _facts(row: Mapping[Any, Any], successors: Mapping[int, SuccessorView]) -> dict[str, Any]:
    private = row["design_id"] is None
    return {
        **row,
        "name": name(row),
        "design": row["design_id"],
        "design_name": row["design_name"] or "",
        "shape": row["shape_id"],
        "recipient": row["recipient_id"],
        "kind": PartKind.SOCKET if private else row["kind"],
        "side": row["shape_side"] if private else row["design_side"],
        "successor": successors.get(row["successor_id"]),
    }


def _successors(work: Work, rows: Collection[Mapping[Any, Any]]) -> dict[int, SuccessorView]:
    wanted = {row["successor_id"] for row in rows} - {None}
    if not wanted:
        return {}
    found = work.session.execute(VERSION.where(VersionRow.id.in_(wanted), seen(work))).mappings()
    return {row["id"]: SuccessorView.model_validate({**row, "name": name(row)}) for row in found}
