"""Photographs of what broke, with the request they show something of.

Revision 0008, after 0007.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "request_photos",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("added_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["request_id"], ["requests.id"], name=op.f("fk_request_photos_request_id_requests")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_request_photos")),
        sa.UniqueConstraint("request_id", "sha256", name=op.f("uq_request_photos_request_id_sha256")),
    )
    with op.batch_alter_table("request_photos", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_request_photos_request_id"), ["request_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("request_photos", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_request_photos_request_id"))

    op.drop_table("request_photos")
