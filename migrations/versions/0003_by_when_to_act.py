"""Each site says which chance of a tight socket it accepts, and a forecast says when another reading would help.

Revision 0003, after 0002.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("sites", schema=None) as batch_op:
        batch_op.add_column(sa.Column("tight_risk", sa.Double(), nullable=False, server_default=sa.text("0.1")))
    with op.batch_alter_table("forecasts", schema=None) as batch_op:
        batch_op.add_column(sa.Column("measure_by", sa.Date(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("forecasts", schema=None) as batch_op:
        batch_op.drop_column("measure_by")
    with op.batch_alter_table("sites", schema=None) as batch_op:
        batch_op.drop_column("tight_risk")
