"""Calendar feeds, one for each account that wants one.

Revision 0010, after 0009.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "calendar_feeds",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("key_hash", sa.String(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("fetched_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_calendar_feeds_account_id_accounts")),
        sa.PrimaryKeyConstraint("account_id", name=op.f("pk_calendar_feeds")),
        sa.UniqueConstraint("key_hash", name=op.f("uq_calendar_feeds_key_hash")),
    )


def downgrade() -> None:
    op.drop_table("calendar_feeds")
