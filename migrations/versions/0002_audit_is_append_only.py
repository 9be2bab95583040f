"""Have the database itself refuse to change or remove an audit entry.

Revision 0002, after 0001.

PostgreSQL also has TRUNCATE, which row triggers do not see. Whoever owns the database can still drop the triggers: this
guards against mistakes and against the service, not against its operator.
"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

REFUSAL = "audit entries are never changed or removed"

SQLITE = tuple(
    f"""
    CREATE TRIGGER audit_entries_no_{act} BEFORE {act} ON audit_entries
    BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END
    """
    for act in ("update", "delete")
)

POSTGRESQL = (
    f"""
    CREATE FUNCTION refuse_audit_change() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$
    """,
    """
    CREATE TRIGGER audit_entries_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON audit_entries
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_audit_change()
    """,
)


def upgrade() -> None:
    for statement in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(statement)


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        op.execute("DROP TRIGGER audit_entries_no_update")
        op.execute("DROP TRIGGER audit_entries_no_delete")
    else:
        op.execute("DROP TRIGGER audit_entries_no_change ON audit_entries")
        op.execute("DROP FUNCTION refuse_audit_change()")
