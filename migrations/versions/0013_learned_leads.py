"""How long making took at a site, learned from its own requests.

Revision 0013, after 0012.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "learned_leads",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("days", sa.Integer(), nullable=False),
        sa.Column("median_days", sa.Double(), nullable=False),
        sa.Column("log_sd", sa.Double(), nullable=False),
        sa.Column("learned_from", sa.Integer(), nullable=False),
        sa.Column("learned_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_learned_leads_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", name=op.f("pk_learned_leads")),
    )


def downgrade() -> None:
    op.drop_table("learned_leads")
