"""The database: one code path for SQLite and PostgreSQL.

`Database.reading()` and `Database.writing()` are the only ways to a session. A reading session is read-only in the
database too; a writing one commits when its block ends and rolls back when the block raises.
"""

from __future__ import annotations

import enum
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.orm import DeclarativeBase, Session
from sqlalchemy.sql.compiler import SQLCompiler

BUSY_TIMEOUT_MS = 10_000
"""How long SQLite waits for another writer before it gives up."""


class UtcDateTime(sa.types.TypeDecorator[datetime]):
    """An aware moment, kept in UTC; SQLite forgets time zones, so they are put back on the way out."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        """Refuse a naive moment rather than guess its zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs a time zone")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:  # noqa: ARG002 given
        """Give the zone back."""
        return value.replace(tzinfo=UTC) if value is not None and value.tzinfo is None else value


def word(values: type[enum.StrEnum]) -> sa.Enum:
    """A column holding one of an enum's words as plain text, so that adding a word needs no table rewrite."""
    return sa.Enum(values, native_enum=False, length=40, values_callable=lambda e: [member.value for member in e])


class Base(DeclarativeBase):
    """The root of every table; its naming convention makes constraint names the same on both databases."""

    metadata = sa.MetaData(
        naming_convention={
            "ix": "ix_%(column_0_N_label)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {datetime: UtcDateTime, dict[str, Any]: sa.JSON, list[Any]: sa.JSON}  # noqa: RUF012 SQLAlchemy reads it as a plain attribute


class plus_days(sa.sql.functions.GenericFunction[date]):  # noqa: N801 reads as the SQL function it is
    """`plus_days(date, days)` in SQL: the day so many days later, on both databases."""

    type = sa.Date()
    inherit_cache = True


@compiles(plus_days, "sqlite")
def _plus_days_sqlite(element: plus_days, compiler: SQLCompiler, **kw: Any) -> str:
    day, days = element.clauses
    return f"date({compiler.process(day, **kw)}, ({compiler.process(days, **kw)}) || ' days')"


@compiles(plus_days, "postgresql")
def _plus_days_postgresql(element: plus_days, compiler: SQLCompiler, **kw: Any) -> str:
    day, days = element.clauses
    return f"(CAST({compiler.process(day, **kw)} AS DATE) + CAST({compiler.process(days, **kw)} AS INTEGER))"


class plus_years(sa.sql.functions.GenericFunction[date]):  # noqa: N801 reads as the SQL function it is
    """`plus_years(date, years)` in SQL: the same day so many years later; 1 March where there is no 29 February."""

    type = sa.Date()
    inherit_cache = True


@compiles(plus_years, "sqlite")
def _plus_years_sqlite(element: plus_years, compiler: SQLCompiler, **kw: Any) -> str:
    day, years = element.clauses
    return f"date({compiler.process(day, **kw)}, ({compiler.process(years, **kw)}) || ' years')"


@compiles(plus_years, "postgresql")
def _plus_years_postgresql(element: plus_years, compiler: SQLCompiler, **kw: Any) -> str:
    day, years = (compiler.process(clause, **kw) for clause in element.clauses)
    # Months are added to the first of the month, or the server would make a missing 29 February the 28th.
    first = f"date_trunc('month', CAST({day} AS TIMESTAMP)) + make_interval(years => CAST({years} AS INTEGER))"
    return f"(CAST({first} AS DATE) + CAST(extract(day FROM {day}) AS INTEGER) - 1)"


class days_between(sa.sql.functions.GenericFunction[int]):  # noqa: N801 reads as the SQL function it is
    """`days_between(since, until)` in SQL: whole days from one date to another, on both databases."""

    type = sa.Integer()
    inherit_cache = True


@compiles(days_between, "sqlite")
def _days_between_sqlite(element: days_between, compiler: SQLCompiler, **kw: Any) -> str:
    since, until = (compiler.process(clause, **kw) for clause in element.clauses)
    return f"CAST(julianday({until}) - julianday({since}) AS INTEGER)"


@compiles(days_between, "postgresql")
def _days_between_postgresql(element: days_between, compiler: SQLCompiler, **kw: Any) -> str:
    since, until = (compiler.process(clause, **kw) for clause in element.clauses)
    return f"(CAST({until} AS DATE) - CAST({since} AS DATE))"


WORKERS = 2
"""Connections beside those of requests: the embedded worker, and a look at health."""


class Database:
    """An engine and the two kinds of session on it, for so many requests at once."""

    def __init__(self, url: str, *, at_once: int = 8) -> None:
        self.is_sqlite = url.startswith("sqlite")
        # Compiling a plan takes the server longer than running it does here: the work list of 25,000 cases 4 times.
        others = {} if self.is_sqlite else {"pool_pre_ping": True, "connect_args": {"options": "-c jit=off"}}
        self.engine = sa.create_engine(url, hide_parameters=True, pool_size=at_once + WORKERS, **others)
        if self.is_sqlite:
            event.listen(self.engine, "connect", _prepare_sqlite)
        event.listen(self.engine, "begin", self._begin)
        self._for_reading = self.engine.execution_options(reading=True)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session in which the database itself refuses every write."""
        with Session(self._for_reading, autoflush=False) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A session that commits at the end of the block, whole or not at all."""
        with Session(self.engine, expire_on_commit=False) as session, session.begin():
            yield session

    def close(self) -> None:
        """Give every connection back."""
        self.engine.dispose()

    def _begin(self, connection: sa.Connection) -> None:
        reading = connection.get_execution_options().get("reading", False)
        if self.is_sqlite:
            connection.exec_driver_sql(f"PRAGMA query_only = {'ON' if reading else 'OFF'}")
            # IMMEDIATE takes the write lock now: two writers queue up instead of failing half-way.
            connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")
        elif reading:
            connection.exec_driver_sql("SET TRANSACTION READ ONLY")


def _prepare_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # the driver must not begin transactions of its own
    for pragma in ("journal_mode = WAL", "synchronous = NORMAL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")


def insert_unless_there(session: Session, table: type[Base], values: dict[str, Any]) -> bool:
    """Insert a row unless a unique constraint already holds one like it; True when this call wrote it.

    A second caller waits for the first one's transaction, so exactly one of them is told True.
    """
    insert = sqlite.insert if session.get_bind().dialect.name == "sqlite" else postgresql.insert
    statement = insert(table).values(**values).on_conflict_do_nothing().returning(sa.literal(1))
    return session.scalar(statement) is not None
