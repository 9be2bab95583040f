"""A demo register, made once for all that is looked at here; nothing changes it beyond signing in."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service import demo
from service.access.permissions import Role
from service.accounts.tables import AccountRow
from service.app import create_app
from service.kit.db import Database
from service.kit.files import Files
from service.migrate import upgrade
from service.settings import Settings
from tests.conftest import POSTGRES, MovableClock, Register


@pytest.fixture(scope="session")
def demo_url(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Iterator[str]:
    """A migrated database of the demo's own: others are emptied between tests."""
    if POSTGRES is None:
        yield f"sqlite:///{tmp_path_factory.mktemp('demo-db') / 'demo.sqlite3'}"
        return
    server = sa.make_url(POSTGRES).set(drivername="postgresql+psycopg")
    name = f"handspan_demo_{worker_id}_{os.getpid()}"
    admin = sa.create_engine(server, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(sa.text(f"CREATE DATABASE {name}"))
        connection.execute(sa.text(f"ALTER DATABASE {name} SET synchronous_commit = off"))
    yield server.set(database=name).render_as_string(hide_password=False)
    with admin.connect() as connection:
        connection.execute(sa.text(f"DROP DATABASE {name} WITH (FORCE)"))
    admin.dispose()


@pytest.fixture(scope="session")
def shown(demo_url: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """The demo as somebody finds it who has just typed `handspan demo`."""
    folder = tmp_path_factory.mktemp("demo")
    settings = Settings(data=folder, database_url=demo_url, embedded_worker=False, mail_folder=folder / "mail")
    settings.keep_generated_secret()
    upgrade(settings.database)
    clock, db = MovableClock(), Database(settings.database)
    demo.build(db, clock, Files(settings.files), settings)
    demo.make_sheets(db, clock, settings)
    yield Register(create_app(settings, db=db, clock=clock), db, clock, settings)
    db.close()


def program(shown: Register, role: Role) -> TestClient:
    """A client of the API that acts for a demo person."""
    email = next(each.email for each in demo.PEOPLE if each.role is role)
    with shown.db.reading() as session:
        return shown.api(account=session.scalars(sa.select(AccountRow.id).where(AccountRow.email == email)).one())


def everything(client: TestClient, path: str, **asked: Any) -> list[dict[str, Any]]:
    """Every item of a list, page after page."""
    items: list[dict[str, Any]] = []
    query: dict[str, Any] | None = asked
    while query is not None:
        page = client.get(path, params=query).json()
        items += page["items"]
        query = {**asked, "cursor": page["next"]} if page.get("next") else None
    return items
