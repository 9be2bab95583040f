# ruff: noqa: T201 - a script prints
"""How long a sheet of trustees' figures takes to make, and to show, in a large register.

    python -m tests.benchmarks.figures [CASES] [PARTS] [URL of an empty PostgreSQL database]

Makes 50,000 recipients with 500,000 parts, five requests, three sockets, four readings and four follow-ups each. The
aims: a sheet in under 60 s, and its page in under 50 ms of server time.
"""

from __future__ import annotations

import sys
from datetime import date, timedelta
from hashlib import sha256
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

from fastapi.testclient import TestClient
from pydantic import SecretStr

from service.access.actor import SYSTEM
from service.access.permissions import Role
from service.access.work import Work
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow, SessionRow, TokenRow
from service.app import create_app
from service.disclosure import Rule
from service.figures.actions import facts_until, keep_sheet
from service.figures.compiling import sheet
from service.kit.db import Database
from service.migrate import upgrade
from service.settings import Settings
from service.web.form_token import SESSION_COOKIE
from tests.benchmarks.worn import NOW, Filler, fill

UNTIL = date(2025, 12, 31)
DESIGNS = 20
TURNS = 15
ADDRESSES = ("/api/v1/outcomes/summary", "/api/v1/outcomes/wear", "/api/v1/outcomes/reports/2025", "/outcomes")
KINDS = ("first_device", "next_socket", "replacement", "adjustment")


def fill_lives(filler: Filler, cases: int) -> None:
    """Limbs, consents, sockets, requests, readings and answers."""
    rows, day, at = filler.rows, filler.day, "'2025-01-01 00:00:00'"
    left = "CASE WHEN {i} % 2 = 0 THEN 'left' ELSE 'right' END"
    case = f"1 + (i - 1) % {cases}"
    rows(
        cases, "limbs", "recipient_id, side, cause, level, note", f"i, {left.format(i='i')}, 'congenital', 'wrist', ''"
    )
    rows(
        cases,
        "consents",
        "recipient_id, kind, purpose, given_by, given_on, words",
        f"i, 'consent', 'statistics', 'a guardian', {day('0')}, ''",
    )
    rows(
        3 * cases,
        "sockets",
        "device_id, fitted_on, socks_at_fitting, note, ended_on, end_reason, end_note",
        f"{case}, {day('(i / 50000) * 600 + i % 90')}, '[]', '', "
        f"CASE WHEN i <= {2 * cases} THEN {day('(i / 50000) * 600 + i % 90 + 500')} END, "
        f"CASE WHEN i <= {2 * cases} THEN 'outgrown' END, ''",
    )
    kind = "CASE " + " ".join(f"WHEN i % 4 = {at} THEN '{kind}'" for at, kind in enumerate(KINDS)) + " END"
    answered = "i % 20 <> 0"
    asked = day("i % 1900")
    rows(
        5 * cases,
        "requests",
        "recipient_id, device_id, kind, need, asker, asked_by, asked_at, words, colour, harm, needed_by, rank_why, "
        "state, settled_at, settled_why",
        f"{case}, {case}, {kind}, CAST(i AS TEXT), 'family', 'a family', CAST({asked} AS {_moment(filler)}), '', '', "
        f"{_false(filler)}, {day('i % 1900 + 28')}, '', CASE WHEN {answered} THEN 'answered' ELSE 'open' END, "
        f"CASE WHEN {answered} THEN CAST({day('i % 1900 + 10 + i % 37')} AS {_moment(filler)}) END, ''",
    )
    rows(
        4 * cases,
        "measurements",
        "id, recipient_id, taken_on, method, taken_by, note, recorded_at, recorded_by, corrections",
        f"i, {case}, {day('i % 2100')}, 'tape', '', '', {at}, 'a benchmark', '[]'",
    )
    rows(
        4 * cases,
        "readings",
        "measurement_id, dimension, side, level_mm, landmark, value, spread, repeats, doubts",
        f"i, 'residual_limb_girth', {left.format(i=case)}, 80.0, '', 150.0 + i % 60, 0.5, '[]', '[]'",
    )
    rows(
        3 * cases,
        "socket_limits",
        "socket_id, dimension, side, level_mm, tight_at_mm, doubts",
        f"i, 'residual_limb_girth', {left.format(i=case)}, 80.0, 200.0, '[]'",
    )
    rows(
        4 * cases,
        "device_follow_ups",
        "recipient_id, device_id, ask, outcome, said_on, way, answered_by, used, why_not_words, days_a_week, "
        "hours_a_day, comfort, pain, pain_where, used_for, recommend, harm, words, recorded_at, recorded_by",
        f"{case}, {case}, CASE WHEN i <= {cases} THEN 'two_weeks' WHEN i <= {2 * cases} THEN 'three_months' "
        f"WHEN i <= {3 * cases} THEN 'year_1' ELSE 'year_2' END, 'answered', {day('i % 2100')}, 'link', 'guardian', "
        f"{_true(filler)}, '', i % 8, i % 9, i % 11, 'none', '', '[]', 'yes', '', '', {at}, 'a benchmark'",
    )


def _moment(filler: Filler) -> str:
    return "TEXT" if filler.dialect == "sqlite" else "TIMESTAMPTZ"


def _false(filler: Filler) -> str:
    return "0" if filler.dialect == "sqlite" else "false"


def _true(filler: Filler) -> str:
    return "1" if filler.dialect == "sqlite" else "true"


def main(cases: int, parts: int, url: str) -> None:
    upgrade(url)
    db = Database(url)
    started = perf_counter()
    with db.writing() as session:
        fill(session, parts, cases, DESIGNS)
        fill_lives(Filler(session), cases)
    if not db.is_sqlite:
        with db.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql("ANALYZE")
    print(f"{cases:,} cases, {parts:,} parts made in {perf_counter() - started:.0f} s; {db.engine.dialect.name}")
    started, computing = perf_counter(), process_time()
    with db.reading() as session:
        facts = facts_until(Work(session, SYSTEM, NOW), UNTIL)
    read = perf_counter()
    made = sheet(facts, Rule(), NOW)
    with db.writing() as session:
        keep_sheet(Work(session, SYSTEM, NOW), made)
    done = perf_counter()
    size = len(made.model_dump_json()) / 1000
    print(
        f"read in {read - started:.1f} s, worked out and kept in {done - read:.1f} s, "
        f"{process_time() - computing:.1f} s of computing here; {size:.0f} kB"
    )
    show(db, url)
    db.close()


def show(db: Database, url: str) -> None:
    """Ask for the page and the API over HTTP, in this process."""
    settings = Settings(database_url=url, secret_key=SecretStr("x" * 40), embedded_worker=False)
    with db.writing() as session:
        session.add(AccountRow(id=1, email="t@example.org", name="A trustee", password_hash="!", created_at=NOW))
        session.flush()
        session.add(AccountRoleRow(account_id=1, role=Role.TRUSTEE))
        session.add(AccountSiteRow(account_id=1, site_id=1))
        kept = {
            "account_id": 1,
            "token_hash": sha256(b"benchmark").hexdigest(),
            "created_at": NOW,
            "expires_at": NOW + timedelta(days=1),
        }
        session.add(TokenRow(name="benchmark", **kept))
        session.add(SessionRow(browser="benchmark", **kept))
    client = TestClient(
        create_app(settings, db=db, clock=lambda: NOW),
        headers={"Authorization": "Bearer benchmark"},
        cookies={SESSION_COOKIE: "benchmark"},
    )
    for address in ADDRESSES:
        print(f"{address:32}{median(_times(client, address)):7.1f} ms of computing")


def _times(client: TestClient, address: str) -> list[float]:
    took = []
    for _ in range(TURNS):
        computing = process_time()
        answer = client.get(address)
        took.append((process_time() - computing) * 1000)
        if answer.status_code != 200:
            raise SystemExit(f"{address} answered {answer.status_code}: {answer.text[:300]}")
    return took[2:]


if __name__ == "__main__":
    many = [int(each) for each in sys.argv[1:3]] + [50_000, 500_000][len(sys.argv[1:3]) :]
    if len(sys.argv) > 3:
        main(many[0], many[1], sys.argv[3])
    else:
        with TemporaryDirectory() as folder:
            main(many[0], many[1], f"sqlite:///{Path(folder) / 'register.sqlite3'}")
