"""Bringing the database to this release's tables, and refusing to work on any other.

Migrations are the only way tables come to exist, in tests too.
"""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError

from service.kit.db import Database
from service.kit.errors import Misconfigured
from service.settings import resource


def config_for(url: str) -> Config:
    """Alembic's configuration for one database, given as an SQLAlchemy URL."""
    config = Config()
    config.set_main_option("script_location", str(resource("migrations")).replace("%", "%%"))
    config.attributes["url"] = url
    return config


def upgrade(url: str) -> None:
    """Bring a database to the newest revision; one that is there already is left alone.

    Raises Misconfigured when it was made by a newer release.
    """
    _make_room(url)
    try:
        command.upgrade(config_for(url), "head")
    except CommandError as error:
        raise Misconfigured(f"The database could not be brought to revision {head()}: {error}") from error


def head() -> str:
    """The revision this release works with."""
    newest = _revisions().get_current_head()
    if newest is None:
        raise Misconfigured("This installation has no migrations in it; install it again.")
    return newest


def current(db: Database) -> str | None:
    """The revision a database is at, None when it has no tables yet."""
    with db.reading() as session:
        return MigrationContext.configure(session.connection()).get_current_revision()


def require_current(db: Database) -> None:
    """Raise Misconfigured, saying what to do, unless the database is at this release's revision."""
    try:
        found = current(db)
    except sa.exc.OperationalError as error:
        raise Misconfigured(
            "The database cannot be opened. Check HANDSPAN_DATABASE_URL, or HANDSPAN_DATA for a database in a folder, "
            f"then run `handspan migrate`. It said: {error.orig}"
        ) from error
    if found == head():
        return
    if found is None:
        raise Misconfigured("The database has no tables yet. Run `handspan migrate`, then start again.")
    if not any(script.revision == found for script in _revisions().walk_revisions()):
        raise Misconfigured(
            f"The database is at revision {found}, which this release does not know: a newer release ran "
            "`handspan migrate` on it. Start that release, or restore the backup made before it."
        )
    raise Misconfigured(
        f"The database is at revision {found} and this release needs {head()}. "
        "Make a backup, run `handspan migrate`, then start again."
    )


def _revisions() -> ScriptDirectory:
    return ScriptDirectory(str(resource("migrations")))


def _make_room(url: str) -> None:
    """SQLite makes its file but not the folder around it."""
    parsed = sa.make_url(url)
    if parsed.get_backend_name() == "sqlite" and parsed.database not in {None, "", ":memory:"}:
        Path(str(parsed.database)).parent.mkdir(parents=True, exist_ok=True)
