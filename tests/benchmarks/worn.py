# ruff: noqa: T201 - a script prints
"""How fast a lot or a version is traced to every limb that wears it, in a register of many parts.

    python -m tests.benchmarks.worn [PARTS] [URL of an empty PostgreSQL database]

Makes a register of 500,000 parts at two sites in a folder of its own, or in the database named, which must be empty.
Of 20,000 cases each has a device and each part has had one place or, one in five, two. One lot of fasteners in 500 is
as large as a lot gets, and one version in 200 is the finger that nearly everybody wears. The aim: under 100 ms each.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

import sqlalchemy as sa
from sqlalchemy.orm import Session

from service.access.actor import Actor
from service.access.permissions import Role
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.assembly import queries
from service.assembly.schemas import WornFilter
from service.kit.db import Database
from service.migrate import upgrade
from service.recipients.rules import case_number
from service.recipients.tables import RecipientRow

CASES, VERSIONS, LOTS = 20_011, 401, 5_003  # primes, so that what is dealt out in turn does not fall in step
TURNS = 9
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
DAY = date(2025, 6, 1)

_COUNT = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {many}) "
# Day number `of` after 2020, as each database writes a date.
_DAYS = {
    "sqlite": "date('2020-01-01', ({of}) || ' days')",
    "postgresql": "(date '2020-01-01' + CAST({of} AS INTEGER))",
}


class Filler:
    """Rows written by the database itself: one by one they would take an hour."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.dialect = session.get_bind().dialect.name

    def rows(self, many: int, table: str, columns: str, values: str) -> None:
        """So many rows, their values by the number `i` of each, from 1."""
        statement = f"INSERT INTO {table} ({columns}) {_COUNT.format(many=many)} SELECT {values} FROM n"
        self.session.connection().exec_driver_sql(
            statement if self.dialect == "sqlite" else statement.replace("%", "%%")
        )

    def day(self, of: str) -> str:
        """The day so many days after the first of 2020."""
        return _DAYS[self.dialect].format(of=of)


def fill(session: Session, parts: int, cases: int = CASES, designs: int = VERSIONS) -> None:
    """Cases with a device each, and parts of `VERSIONS` versions of so many designs, each in one or two places."""
    filler = Filler(session)
    rows, day = filler.rows, filler.day

    at = "'2026-01-01 00:00:00'"
    session.add_all(SiteRow(id=each, code=f"site{each}", name=f"Site {each}") for each in (1, 2))
    session.flush()
    person = {
        "given_name": "Ada",
        "family_name": "Quill",
        "search_name": "ada quill",
        "birth_date": date(2015, 1, 1),
        "sex": "female",
        "language": "en",
        "state": "active",
        "state_since": date(2020, 1, 1),
        "created_at": NOW,
        "changed_at": NOW,
    }
    session.execute(
        sa.insert(RecipientRow),
        [{**person, "id": i, "case_number": case_number(i), "site_id": 1 + i % 2} for i in range(1, cases + 1)],
    )
    rows(
        cases,
        "devices",
        "id, recipient_id, purpose, side, use, stopped_reason, note, created_at",
        f"i, i, 'everyday', CASE WHEN i % 2 = 0 THEN 'left' ELSE 'right' END, 'in_use', '', '', {at}",
    )
    rows(
        LOTS,
        "lots",
        "id, site_id, kind, what, material, colour, maker, batch, received_on, unit, safety_note, note, search_words, "
        "state, state_why, state_since, created_at, created_by",
        "i, 1 + i % 2, 'filament', 'PETG 1.75 mm', 'PETG', 'black', 'Northern Reels', CAST(i AS TEXT), "
        f"{day('0')}, 'g', '', '', '', 'in_use', '', {day('0')}, {at}, 'a benchmark'",
    )
    rows(
        designs,
        "part_designs",
        "id, name, search_name, kind, interface, note, created_at, created_by",
        f"i, 'Finger ' || i, 'finger ' || i, 'finger', 'A', '', {at}, 'a benchmark'",
    )
    rows(
        VERSIONS,
        "part_versions",
        "id, design_id, number, what_changed, why, licence, interface, materials, print_settings, features, checks, "
        "axis, file_sha256, file_name, file_bytes, format, unit, picture_sha256, geometry, created_at, created_by, "
        "state",
        f"i, 1 + (i - 1) % {designs}, 1 + (i - 1) / {designs}, '', '', '', 'A', "
        "'[]', '{}', '[]', '[]', '{}', '', '', 0, 'stl', 'mm', '', '{}', "
        f"{at}, 'a benchmark', 'released'",
    )
    # A version of every 200, and a lot of every 500, has far more parts than others.
    rows(
        parts,
        "parts",
        "id, site_id, kind, what, digit, version_id, scale_across, scale_along, material, colour, serial, note, "
        "created_at, created_by",
        f"i, 1 + i % 2, 'finger', '', 'index', CASE WHEN i % 25 = 0 THEN 1 ELSE 1 + i % {VERSIONS} END, 1.0, 1.0, "
        f"'PETG', 'black', '', '', {at}, 'a benchmark'",
    )
    rows(parts, "part_lots", "part_id, lot_id", f"i, CASE WHEN i % 50 = 0 THEN 1 ELSE 2 + i % ({LOTS} - 1) END")
    place = "part_id, device_id, since, until, came_off, note, end_note, doubts, recorded_at, recorded_by"
    began = day("i % 1900")
    # Four parts in five came off again after a year and a half; one of these went on into another device.
    rows(
        parts,
        "places",
        f"id, {place}",
        f"i, i, 1 + i % {cases}, {began}, CASE WHEN i % 5 = 0 THEN NULL ELSE {day('i % 1900 + 300')} END, "
        "CASE WHEN i % 5 = 0 THEN NULL WHEN i % 5 = 1 THEN 'moved' ELSE 'broken' END, '', '', '[]', "
        f"{at}, 'a benchmark'",
    )
    rows(
        parts // 5,
        "places",
        f"id, {place}",
        f"{parts} + i, 5 * i - 4, 1 + (i * 7) % {cases}, {day('(5 * i - 4) % 1900 + 300')}, NULL, NULL, '', '', '[]', "
        f"{at}, 'a benchmark'",
    )


def measured(db: Database, what: str, ask: Callable[[Work], object]) -> None:
    """Ask several times; print the median of all but the first."""
    actor = Actor("a benchmark", frozenset({Role.COORDINATOR}), frozenset({2}), 1)
    took, busy, said = [], [], None
    for _turn in range(TURNS):
        with db.reading() as session:
            wall, computing = perf_counter(), process_time()
            said = ask(Work(session, actor, NOW))
            took.append((perf_counter() - wall) * 1000)
            busy.append((process_time() - computing) * 1000)
    # The database runs in this process with SQLite, so computing is what it takes on a machine with nothing else to do.
    print(f"{what:46}{median(took[1:]):7.1f} ms, {median(busy[1:]):7.1f} computing here: {said}")


def main(parts: int, url: str) -> None:
    upgrade(url)
    db = Database(url)
    started = perf_counter()
    with db.writing() as session:
        fill(session, parts)
    if not db.is_sqlite:
        with db.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql("ANALYZE")
    print(f"{parts:,} parts made in {perf_counter() - started:.0f} s; {db.engine.dialect.name}")

    def limbs(work: Work, *, ever: bool = False, on: date | None = None, **of: int) -> str:
        found = queries.worn(work, WornFilter(on=on, ever=ever), **of)
        return f"{found.limbs} limbs, {found.elsewhere} elsewhere, {len(found.items)} shown"

    measured(db, "an ordinary lot, today", lambda work: limbs(work, lot=3))
    measured(db, "an ordinary lot, on a day", lambda work: limbs(work, lot=3, on=DAY))
    measured(db, "an ordinary lot, ever", lambda work: limbs(work, lot=3, ever=True))
    measured(db, "an ordinary version, today", lambda work: limbs(work, version=8))
    measured(db, "an ordinary version, on a day", lambda work: limbs(work, version=8, on=DAY))
    measured(db, "an ordinary version, ever", lambda work: limbs(work, version=8, ever=True))
    measured(db, "the largest lot, today", lambda work: limbs(work, lot=1))
    measured(db, "the largest version, today", lambda work: limbs(work, version=1))
    measured(db, "the largest version, on a day", lambda work: limbs(work, version=1, on=DAY))
    measured(db, "the largest version, ever", lambda work: limbs(work, version=1, ever=True))
    measured(
        db,
        "a limb's every part with its lots, on a day",
        lambda work: sum(len(each.parts) for each in queries.parts_in_place(work, case_number(1401), DAY).items),
    )
    db.close()


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 500_000
    if len(sys.argv) > 2:
        main(wanted, sys.argv[2])
    else:
        with TemporaryDirectory() as folder:
            main(wanted, f"sqlite:///{Path(folder) / 'register.sqlite3'}")
