"""Mailboxes of people without an account who want no mail but what is needed.

Revision 0012, after 0011.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "stopped_mailboxes",
        sa.Column("mailbox", sa.String(), nullable=False),
        sa.Column("stopped_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("mailbox", name=op.f("pk_stopped_mailboxes")),
    )


def downgrade() -> None:
    op.drop_table("stopped_mailboxes")
