"""The database itself keeps what was released as it was, whoever writes to it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest
import sqlalchemy as sa

from service import migrate
from service.accounts.tables import SiteRow
from service.kit.db import Database
from service.metadata import metadata
from service.recipients.rules import CaseState, Sex
from service.recipients.tables import RecipientRow

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
VERSIONS, DESIGNS, SHAPES = (metadata.tables[name] for name in ("part_versions", "part_designs", "shapes"))
SAID = {"created_at": NOW, "created_by": "Ada"}
READ: dict[str, Any] = {
    "file_sha256": "0" * 64,
    "file_name": "x.stl",
    "file_bytes": 1,
    "format": "stl",
    "unit": "mm",
    "picture_sha256": "1" * 64,
    "geometry": {},
}
WHOLE: dict[str, Any] = {
    **READ,
    "number": 1,
    "what_changed": "",
    "why": "",
    "licence": "",
    "interface": "",
    "materials": [],
    "print_settings": {},
    "features": [],
    "checks": [],
    "axis": {},
    "inside": None,
    **SAID,
}
CONTENT: dict[str, Any] = {
    "design_id": 2,
    "number": 9,
    "what_changed": "x",
    "why": "x",
    "licence": "x",
    "interface": "x",
    "materials": ["x"],
    "print_settings": {"walls": 9},
    "features": [1],
    "checks": ["heat"],
    "axis": {"x": 1},
    "inside": {"x": 1},
    "file_sha256": "2" * 64,
    "file_name": "y.stl",
    "file_bytes": 2,
    "format": "3mf",
    "unit": "in",
    "picture_sha256": "3" * 64,
    "geometry": {"x": 1},
}
"""Something else for every column that says what a version is."""
STEPS = {"state", *(f"{done}_{part}" for done in ("released", "withdrawn") for part in ("at", "by", "why"))}

Add = Callable[..., int]


@pytest.fixture
def add(blank: str, db: Database) -> Add:
    """Writes a version in a state, of a design or of a shape; returns its id."""
    migrate.upgrade(blank)
    person = {
        "given_name": "Ines",
        "family_name": "Okafor",
        "search_name": "ines okafor",
        "birth_date": date(2018, 5, 4),
    }
    opened = {"state": CaseState.ACTIVE, "state_since": NOW.date(), "created_at": NOW, "changed_at": NOW}
    taken = {"side": "left", "taken_on": NOW.date(), "taken_by": "Ada", "method": "scan", "note": ""}
    with db.writing() as session:
        session.add(SiteRow(id=1, code="h", name="Harbour", lead_days=28))
        session.flush()
        session.add(RecipientRow(id=1, site_id=1, case_number="100-0001", sex=Sex.FEMALE, **person, **opened))
        session.flush()
        for number in (1, 2):
            design = {
                "name": f"Palm {number}",
                "search_name": f"palm {number}",
                "kind": "palm",
                "interface": "",
                "note": "",
            }
            session.execute(sa.insert(DESIGNS).values(**design, **SAID))
        session.execute(sa.insert(SHAPES).values(recipient_id=1, **taken, **READ, **SAID))

    def write(state: str, **of: int | None) -> int:
        values = {**WHOLE, "state": state, **(of or {"design_id": 1})}
        with db.writing() as session:
            return int(session.execute(sa.insert(VERSIONS).values(**values).returning(VERSIONS.c.id)).scalar_one())

    return write


def change(db: Database, version: int, **values: Any) -> None:
    with db.writing() as session:
        session.execute(sa.update(VERSIONS).where(VERSIONS.c.id == version).values(**values))


def test_every_column_that_says_what_a_version_is_is_guarded() -> None:
    told_apart = {"id", "shape_id", "created_at", "created_by", "successor_id"}
    assert set(CONTENT) == set(VERSIONS.columns.keys()) - STEPS - told_apart


@pytest.mark.parametrize("state", ["released", "withdrawn"])
def test_what_was_released_never_changes(db: Database, add: Add, state: str) -> None:
    version = add(state)
    for name, value in CONTENT.items():
        with pytest.raises(sa.exc.DBAPIError, match="a released part version never changes"):
            change(db, version, **{name: value})
    with pytest.raises(sa.exc.DBAPIError, match="a released part version never changes"):
        change(db, version, design_id=None, shape_id=1)


def test_a_draft_may_change(db: Database, add: Add) -> None:
    version = add("draft")
    change(db, version, **{name: value for name, value in CONTENT.items() if name != "design_id"})
    with db.reading() as session:
        assert session.execute(sa.select(VERSIONS.c.what_changed)).scalar_one() == "x"


@pytest.mark.parametrize(
    ("state", "to", "goes"),
    [
        ("draft", "released", True),
        ("draft", "withdrawn", True),
        ("released", "withdrawn", True),
        ("released", "draft", False),
        ("withdrawn", "released", False),
        ("withdrawn", "draft", False),
    ],
)
def test_a_state_only_goes_on(db: Database, add: Add, state: str, to: str, goes: bool) -> None:
    version = add(state)
    if goes:
        change(db, version, state=to, withdrawn_why="It broke.")
    else:
        with pytest.raises(sa.exc.DBAPIError, match="from draft to released to withdrawn"):
            change(db, version, state=to)


def test_a_withdrawn_one_may_still_be_given_a_successor(db: Database, add: Add) -> None:
    change(db, add("withdrawn"), successor_id=add("released", design_id=2))


@pytest.mark.parametrize(
    ("state", "of", "goes"),
    [
        ("draft", {"design_id": 1}, True),
        ("released", {"design_id": 1}, False),
        ("withdrawn", {"design_id": 1}, False),
        ("released", {"shape_id": 1}, True),
    ],
    ids=str,
)
def test_what_was_released_is_kept_but_for_what_is_private(
    db: Database, add: Add, state: str, of: dict[str, int], goes: bool
) -> None:
    version = add(state, **of)
    remove = sa.delete(VERSIONS).where(VERSIONS.c.id == version)
    if goes:
        with db.writing() as session:
            session.execute(remove)
    else:
        with pytest.raises(sa.exc.DBAPIError, match="never removed"), db.writing() as session:
            session.execute(remove)


@pytest.mark.parametrize("of", [{"design_id": 1, "shape_id": 1}, {"design_id": None, "shape_id": None}], ids=str)
def test_a_version_is_of_a_design_or_of_a_shape(add: Add, of: dict[str, Any]) -> None:
    with pytest.raises(sa.exc.IntegrityError):
        add("draft", **of)


def test_numbers_of_a_design_are_not_given_twice(add: Add) -> None:
    add("draft")
    with pytest.raises(sa.exc.IntegrityError):
        add("draft")
