"""How Alembic reaches the database: called by `service.migrate` and by the `alembic` command.

Everything runs on a live connection. Writing SQL to a file is not offered: SQLite rebuilds tables from what it finds.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, Literal

import sqlalchemy as sa
from alembic import context
from alembic.autogenerate.api import AutogenContext
from alembic.runtime.migration import MigrationContext, MigrationInfo

from service.kit.db import Database, UtcDateTime
from service.metadata import metadata
from service.settings import Settings


def render_item(kind: str, item: Any, _context: AutogenContext) -> str | Literal[False]:
    """Write our column types as SQLAlchemy's own: a revision must mean the same when the service has changed."""
    if kind == "type" and isinstance(item, UtcDateTime):
        return "sa.DateTime(timezone=True)"
    if kind == "type" and isinstance(item, sa.Enum):
        return f"sa.String(length={item.length})"
    return False


def run(db: Database) -> None:
    """Run the revisions asked for, each in a transaction of its own."""
    with db.engine.connect() as connection:
        if db.is_sqlite:
            _let_tables_be_rebuilt(connection)
        else:
            # A migration that cannot have its lock gives up, rather than let every request queue up behind it.
            connection.exec_driver_sql("SET lock_timeout = '5s'")
            connection.commit()
        context.configure(
            connection=connection,
            target_metadata=metadata,
            render_item=render_item,
            render_as_batch=True,
            transactional_ddl=True,
            transaction_per_migration=True,
            on_version_apply=_refuse_broken_references,
        )
        with context.begin_transaction():
            context.run_migrations()


def _let_tables_be_rebuilt(connection: sa.Connection) -> None:
    """SQLite alters a table by building it anew, which foreign keys would forbid; they are off until the end."""
    raw: Any = connection.connection.driver_connection
    raw.execute("PRAGMA foreign_keys = OFF")


def _refuse_broken_references(
    ctx: MigrationContext,
    step: MigrationInfo,  # noqa: ARG001 Alembic passes it by name
    heads: Collection[Any],  # noqa: ARG001
    run_args: Mapping[str, Any],  # noqa: ARG001
) -> None:
    """At the end of each revision, inside its transaction, since SQLite was not watching meanwhile."""
    if ctx.connection is not None and ctx.dialect.name == "sqlite":
        broken = ctx.connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise RuntimeError(f"rows refer to others that are not there: {broken[:5]}")


if context.is_offline_mode():
    raise SystemExit("Give a database to work on: --sql is not offered.")

database = Database(context.config.attributes.get("url") or Settings().database)
try:
    run(database)
finally:
    database.close()
