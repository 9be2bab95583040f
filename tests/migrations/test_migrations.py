"""Migrations are the only way tables come to exist, so they are walked up and down on both databases."""

from __future__ import annotations

import ast
import shutil
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.engine.interfaces import ReflectedIndex

from service import migrate
from service.kit.db import Database
from service.kit.errors import Misconfigured
from service.metadata import metadata
from service.settings import resource
from tests.architecture.sources import Source, sources

SCRIPTS = ScriptDirectory.from_config(migrate.config_for("sqlite://"))
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
REVISIONS = [script.revision for script in reversed(list(SCRIPTS.walk_revisions()))]


def index_said(index: ReflectedIndex) -> str:
    """An index in words, its condition too."""
    conditions = {option: str(value) for option, value in index.get("dialect_options", {}).items()}
    return f"{index['name']} {index['column_names']} {index['unique']} {conditions}"


def shape(db: Database) -> dict[str, object]:
    """Everything in the schema that a revision can change: tables, columns, constraints, indexes and triggers."""
    with db.reading() as session:
        found = sa.inspect(session.connection())
        tables = {
            name: (
                [(column["name"], str(column["type"]), column["nullable"]) for column in found.get_columns(name)],
                found.get_pk_constraint(name),
                sorted(str(each) for each in found.get_foreign_keys(name)),
                sorted(str(each) for each in found.get_unique_constraints(name)),
                sorted(index_said(each) for each in found.get_indexes(name)),
            )
            for name in found.get_table_names()
            if name != "alembic_version"
        }
        triggers = (
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
            if db.is_sqlite
            else "SELECT trigger_name, event_manipulation FROM information_schema.triggers"
        )
        functions = "SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace"
        return {
            "tables": tables,
            "triggers": sorted(map(tuple, session.execute(sa.text(triggers)))),
            "functions": [] if db.is_sqlite else sorted(session.scalars(sa.text(functions))),
        }


def test_there_is_one_head():
    assert SCRIPTS.get_heads() == [migrate.head()] == REVISIONS[-1:]


def walk(config: Config, db: Database, revisions: list[str]) -> None:
    """Each revision up, down and up again; what it made must vanish and come back the same."""
    for before, revision in zip(["base", *revisions], revisions, strict=False):
        start = shape(db)
        command.upgrade(config, revision)
        there = shape(db)
        assert there != start, f"{revision} changes nothing"
        command.downgrade(config, before)
        assert shape(db) == start, f"{revision} does not go down to where it came from"
        command.upgrade(config, revision)
        assert shape(db) == there, f"{revision} does not come back the same"


def test_every_revision_goes_up_down_and_up_again(blank, db):
    walk(migrate.config_for(blank), db, REVISIONS)


def test_a_revision_that_does_not_come_down_is_noticed(blank, db, tmp_path):
    planted = tmp_path / "migrations"
    shutil.copytree(resource("migrations"), planted)
    (planted / "versions" / "9999_fault.py").write_text(
        f"from alembic import op\nrevision, down_revision = '9999', '{migrate.head()}'\n"
        "def upgrade(): op.execute('CREATE TABLE planted (id INTEGER)')\ndef downgrade(): pass\n"
    )
    config = migrate.config_for(blank)
    config.set_main_option("script_location", str(planted))
    with pytest.raises(AssertionError, match="9999 does not go down"):
        walk(config, db, [*REVISIONS, "9999"])


def test_the_tables_are_those_the_service_was_written_for(blank, db):
    migrate.upgrade(blank)
    with db.reading() as session:
        context = MigrationContext.configure(session.connection(), opts={"compare_server_default": True})
        assert compare_metadata(context, metadata) == []


def test_conditions_of_unique_indexes_hold_on_both_databases(blank, db):
    """The comparison above does not look at conditions, and without its own an index would refuse too much."""
    migrate.upgrade(blank)
    conditional = {
        index.name
        for table in metadata.tables.values()
        for index in table.indexes
        if index.dialect_options["sqlite"]["where"] is not None
    }
    listing = (
        "SELECT name FROM sqlite_master WHERE type = 'index' AND sql LIKE '% WHERE %'"
        if db.is_sqlite
        else "SELECT indexname FROM pg_indexes WHERE schemaname = 'public' AND indexdef LIKE '% WHERE %'"
    )
    with db.reading() as session:
        assert set(session.scalars(sa.text(listing))) == conditional


def test_the_database_refuses_to_change_the_audit(blank, db):
    migrate.upgrade(blank)
    insert = sa.insert(metadata.tables["audit_entries"])
    with db.writing() as session:
        session.execute(insert.values(at=NOW, actor="Ada", act="read", subject="case", changes={}))
    changes = ["UPDATE audit_entries SET act = 'nothing'", "DELETE FROM audit_entries"]
    for change in changes if db.is_sqlite else [*changes, "TRUNCATE audit_entries"]:
        with pytest.raises(sa.exc.DBAPIError, match="never changed or removed"), db.writing() as session:
            session.execute(sa.text(change))
    with db.reading() as session:
        assert session.execute(sa.text("SELECT actor, act FROM audit_entries")).all() == [("Ada", "read")]


def test_a_database_at_this_release_is_accepted(blank, db):
    migrate.upgrade(blank)
    migrate.upgrade(blank)
    migrate.require_current(db)
    assert migrate.current(db) == migrate.head()


@pytest.mark.parametrize("revision", [None, *REVISIONS[:-1]])
def test_a_database_at_an_older_revision_is_refused_with_the_command_to_run(blank, db, revision):
    if revision:
        command.upgrade(migrate.config_for(blank), revision)
    with pytest.raises(Misconfigured, match="handspan migrate"):
        migrate.require_current(db)


def test_a_database_of_a_newer_release_is_refused(blank, db):
    migrate.upgrade(blank)
    with db.writing() as session:
        session.execute(sa.text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(Misconfigured, match="newer release"):
        migrate.require_current(db)
    with pytest.raises(Misconfigured, match="9999"):
        migrate.upgrade(blank)


def test_a_database_that_cannot_be_opened_is_a_sentence(tmp_path):
    unreachable = Database(f"sqlite:///{tmp_path}/no/such/folder/register.sqlite3")
    with pytest.raises(Misconfigured, match="HANDSPAN_DATABASE_URL"):
        migrate.require_current(unreachable)


def test_the_folder_of_a_new_database_is_made(tmp_path):
    migrate.upgrade(f"sqlite:///{tmp_path}/new/folder/register.sqlite3")
    assert (tmp_path / "new/folder/register.sqlite3").exists()


def imports_service(source: Source) -> bool:
    names = [
        name
        for node in ast.walk(source.tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in [getattr(node, "module", None), *(alias.name for alias in node.names)]
    ]
    return any(name and name.split(".")[0] == "service" for name in names)


def test_no_revision_depends_on_the_service_as_it_is_today():
    versions = sources("migrations/versions")
    assert len(versions) == len(REVISIONS)
    assert not [source.path for source in versions if imports_service(source)]


@pytest.mark.parametrize(
    "fault", ["import service.kit.db", "from service.kit.db import word", "def f():\n import service"]
)
def test_a_planted_import_is_noticed(fault):
    assert imports_service(Source("migrations/versions/9999_fault.py", fault))


@pytest.mark.parametrize(
    "fault", ["ALTER TABLE sites ADD COLUMN planted INTEGER", "DROP INDEX ix_readings_measurement_id"]
)
def test_a_planted_difference_is_noticed(blank, db, fault):
    migrate.upgrade(blank)
    with db.writing() as session:
        session.execute(sa.text(fault))
    with db.reading() as session:
        assert compare_metadata(MigrationContext.configure(session.connection()), metadata)


TWO_SOCKETS_AND_A_REPORT = """
INSERT INTO sites (id, code, name, note, lead_days) VALUES (1, 'h', 'Harbour', '', 28);
INSERT INTO recipients VALUES (1, '100-0001', 1, 'Ines', 'Okafor', 'ines okafor', '2018-05-04', 'female', '',
    'active', '', '2026-01-01', NULL, '', '', '', '', '', '', NULL, '2026-01-01', '2026-01-01');
INSERT INTO devices (id, recipient_id, purpose, side, "use", stopped_reason, note, created_at)
    VALUES (1, 1, 'everyday', 'left', 'in_use', '', '', '2026-01-01');
INSERT INTO sockets (id, device_id, fitted_on, socks_at_fitting, note, ended_on, end_reason, end_note) VALUES
    (1, 1, '2025-02-10', '[]', '', '2026-02-10', 'outgrown', ''), (2, 1, '2026-02-10', '[]', '', NULL, NULL, '');
INSERT INTO sock_reports (id, device_id, worn_on, plies, fit, note, recorded_at, recorded_by)
    VALUES (1, 1, :worn_on, '[]', 'tight', '', '2026-02-12', 'Noor')
"""


@pytest.mark.parametrize(
    ("worn_on", "socket"), [("2026-02-09", 1), ("2026-02-10", 1), ("2026-02-11", 2)], ids=["before", "on", "after"]
)
def test_a_report_from_before_it_had_one_is_given_the_socket_of_its_day(blank, db, worn_on, socket):
    config = migrate.config_for(blank)
    command.upgrade(config, "0003")
    with db.writing() as session:
        for statement in TWO_SOCKETS_AND_A_REPORT.split(";"):
            session.execute(sa.text(statement), {"worn_on": worn_on})
    command.upgrade(config, "0004")
    with db.reading() as session:
        assert session.scalar(sa.text("SELECT socket_id FROM sock_reports")) == socket
