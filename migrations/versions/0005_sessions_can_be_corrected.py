"""The day of a session, how and by whom it was taken can be corrected; what they were before is kept.

Revision 0005, after 0004.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("measurements", schema=None) as batch_op:
        batch_op.add_column(sa.Column("corrections", sa.JSON(), nullable=True))
    op.execute("UPDATE measurements SET corrections = '[]'")
    with op.batch_alter_table("measurements", schema=None) as batch_op:
        batch_op.alter_column("corrections", existing_type=sa.JSON(), nullable=False)


def downgrade() -> None:
    with op.batch_alter_table("measurements", schema=None) as batch_op:
        batch_op.drop_column("corrections")
