"""A register to test against: made by the real migrations, on SQLite unless HANDSPAN_TEST_POSTGRES names a server."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest
import sqlalchemy as sa
import structlog
from argon2 import PasswordHasher
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.accounts.tables import AccountRoleRow, AccountRow, AccountSiteRow, SiteRow, TokenRow
from service.app import create_app, frame_for
from service.kit import passwords
from service.kit.db import Base, Database
from service.migrate import upgrade
from service.settings import Settings
from service.worker import run_one
from tests.notifications.privacy import said_too_much

pytest_plugins = ("tests.suites",)

# The usual renderer draws boxes around a traceback, which takes half a minute where a request failed.
structlog.configure(processors=[structlog.dev.ConsoleRenderer(exception_formatter=structlog.dev.plain_traceback)])

POSTGRES = os.environ.get("HANDSPAN_TEST_POSTGRES")
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
SITES = {"harbour": 28, "island": 42}


@dataclass
class MovableClock:
    """A clock that stands where a test puts it."""

    now: datetime = START

    def __call__(self) -> datetime:
        return self.now

    def forward(self, **span: float) -> None:
        self.now += timedelta(**span)


@dataclass
class Register:
    """A running register and ways to knock on it as somebody."""

    app: FastAPI
    db: Database
    clock: MovableClock
    settings: Settings
    sites: dict[str, int] = field(default_factory=dict)

    def browser(self) -> TestClient:
        """A browser with its own cookies; follows no redirects."""
        return TestClient(self.app, base_url="http://testserver", follow_redirects=False, raise_server_exceptions=False)

    def account(self, *roles: Role, sites: tuple[str, ...] = ("harbour",), name: str = "", email: str = "") -> int:
        """Open an account without a usable password; returns its id."""
        name = name or " and ".join(role.label for role in roles)
        with self.db.writing() as session:
            count = session.scalar(sa.select(sa.func.count()).select_from(AccountRow)) or 0
            row = AccountRow(
                email=email or f"person{count}@example.org", name=name, password_hash="!", created_at=self.clock()
            )
            session.add(row)
            session.flush()
            session.add_all(AccountRoleRow(account_id=row.id, role=role) for role in roles)
            session.add_all(AccountSiteRow(account_id=row.id, site_id=self.sites[site]) for site in sites)
            return row.id

    def token(self, account_id: int) -> str:
        """An API token for an account."""
        with self.db.writing() as session:
            count = session.scalar(sa.select(sa.func.count()).select_from(TokenRow)) or 0
            text = f"test-token-{count}"
            session.add(
                TokenRow(
                    account_id=account_id,
                    name="test",
                    token_hash=sha256(text.encode()).hexdigest(),
                    created_at=self.clock(),
                    expires_at=self.clock() + timedelta(days=3650),
                )
            )
            return text

    def api(self, *roles: Role, sites: tuple[str, ...] = ("harbour",), account: int | None = None) -> TestClient:
        """A client of the API with a new account's token, or the given account's."""
        client = self.browser()
        client.headers["Authorization"] = f"Bearer {self.token(account or self.account(*roles, sites=sites))}"
        return client

    def run_jobs(self) -> int:
        """Do every job that is due; returns how many there were."""
        done = 0
        while run_one(self.db, self.clock, self.settings):
            done += 1
        return done


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Iterator[str]:
    """The URL of a migrated, empty database of this worker's own."""
    if POSTGRES is None:
        url = f"sqlite:///{tmp_path_factory.mktemp('db') / 'empty.sqlite3'}"
        upgrade(url)
        yield url
        return
    server = sa.make_url(POSTGRES).set(drivername="postgresql+psycopg")
    name = f"handspan_test_{worker_id}_{os.getpid()}"  # two runs side by side do not meet
    admin = sa.create_engine(server, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(sa.text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
        connection.execute(sa.text(f"CREATE DATABASE {name}"))
        # What is lost with the power is a test's, so commits need not wait for the disk.
        connection.execute(sa.text(f"ALTER DATABASE {name} SET synchronous_commit = off"))
    url = server.set(database=name).render_as_string(hide_password=False)
    upgrade(url)
    yield url
    with admin.connect() as connection:
        connection.execute(sa.text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
    admin.dispose()


@pytest.fixture
def url(empty_database: str, tmp_path: Path) -> str:
    """The URL of a database that is migrated, empty, and this test's alone."""
    return emptied(empty_database, tmp_path)


def emptied(empty_database: str, folder: Path) -> str:
    """The URL of an empty database: a copy in a folder, or on a server the same one with its tables emptied."""
    if empty_database.startswith("sqlite"):
        fresh = folder / "register.sqlite3"
        shutil.copy(sa.make_url(empty_database).database or "", fresh)
        return f"sqlite:///{fresh}"
    engine = sa.create_engine(empty_database)
    with engine.begin() as connection:
        # The audit refuses to be emptied; as a replica the server runs no such triggers and checks no references.
        connection.execute(sa.text("SET LOCAL session_replication_role = replica"))
        # On small tables DELETE is many times faster than TRUNCATE, which makes every file anew.
        connection.exec_driver_sql("; ".join(f'DELETE FROM "{table.name}"' for table in Base.metadata.sorted_tables))
        connection.execute(sa.text("SELECT setval(oid::regclass, 1, false) FROM pg_class WHERE relkind = 'S'"))
    engine.dispose()
    return empty_database


@pytest.fixture(scope="session")
def application() -> FastAPI:
    """The routes of the service, built once: that takes longer than most tests do."""
    return create_app(_settings(Path(), "sqlite://"))


def _settings(folder: Path, url: str) -> Settings:
    return Settings(
        data=folder,
        database_url=url,
        secret_key="for tests only, and long enough to be taken",
        embedded_worker=False,
        charity_phone="+44 1632 960 011",
    )


@pytest.fixture
def register(url: str, tmp_path: Path, application: FastAPI) -> Iterator[Register]:
    """A register with two sites, nobody in it, and a clock that stands still."""
    settings, clock, db = _settings(tmp_path, url), MovableClock(), Database(url)
    application.state.frame = frame_for(settings, db, clock)
    made = Register(application, db, clock, settings)
    with db.writing() as session:
        rows = [SiteRow(code=code, name=f"The {code}", lead_days=days) for code, days in SITES.items()]
        session.add_all(rows)
        session.flush()
        made.sites = {row.code: row.id for row in rows}
    yield made
    with db.reading() as session:
        told = said_too_much(session)
    db.close()
    assert not told, "; ".join(told)


@pytest.fixture(autouse=True)
def _cheap_hashes(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Hashing made cheap: hundreds of tests sign in, and what a hash costs is not what they are about."""
    monkeypatch.setattr(passwords, "_HASHER", PasswordHasher(time_cost=2, memory_cost=128, parallelism=1))
    passwords._nobodys_hash.cache_clear()
    yield
    passwords._nobodys_hash.cache_clear()
