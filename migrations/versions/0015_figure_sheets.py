"""What trustees were told, kept as it was told: a sheet is never altered or removed.

Revision 0015, after 0014.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

REFUSAL = "what trustees were told is never changed or removed"

SQLITE = tuple(
    f"""
    CREATE TRIGGER figure_sheets_no_{act} BEFORE {act} ON figure_sheets
    BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END
    """
    for act in ("update", "delete")
)

POSTGRESQL = (
    f"""
    CREATE FUNCTION refuse_sheet_change() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$
    """,
    """
    CREATE TRIGGER figure_sheets_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON figure_sheets
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_sheet_change()
    """,
)


def upgrade() -> None:
    op.create_table(
        "figure_sheets",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("computed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("method", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_figure_sheets")),
        sa.UniqueConstraint("until", name=op.f("uq_figure_sheets_until")),
    )
    for statement in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(statement)


def downgrade() -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP TRIGGER figure_sheets_no_change ON figure_sheets")
        op.execute("DROP FUNCTION refuse_sheet_change()")
    op.drop_table("figure_sheets")
