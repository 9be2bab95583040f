"""Incidents are closed by name, with what came of them and whether they were reported.

Revision 0009, after 0008.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("incidents", schema=None) as batch_op:
        batch_op.add_column(sa.Column("closed_by", sa.String(), nullable=True))
        batch_op.add_column(sa.Column("outcome", sa.String(), nullable=True))
        batch_op.add_column(sa.Column("reported_on", sa.Date(), nullable=True))
        batch_op.add_column(sa.Column("not_reported_why", sa.String(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("incidents", schema=None) as batch_op:
        batch_op.drop_column("not_reported_why")
        batch_op.drop_column("reported_on")
        batch_op.drop_column("outcome")
        batch_op.drop_column("closed_by")
