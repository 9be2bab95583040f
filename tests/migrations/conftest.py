"""Databases with nothing in them, on SQLite and, where there is a server, on PostgreSQL."""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from service.kit.db import Database


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def blank(request, tmp_path) -> Iterator[str]:
    """The URL of a database with nothing in it."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'blank.sqlite3'}"
        return
    server = sa.make_url(os.environ["HANDSPAN_TEST_POSTGRES"]).set(drivername="postgresql+psycopg")
    name = f"handspan_blank_{uuid.uuid4().hex}"
    admin = sa.create_engine(server, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.exec_driver_sql(f"CREATE DATABASE {name}")
    yield server.set(database=name).render_as_string(hide_password=False)
    with admin.connect() as connection:
        connection.exec_driver_sql(f"DROP DATABASE {name} WITH (FORCE)")
    admin.dispose()


@pytest.fixture
def db(blank) -> Iterator[Database]:
    opened = Database(blank)
    yield opened
    opened.close()
