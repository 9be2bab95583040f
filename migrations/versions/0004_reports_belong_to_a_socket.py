"""A sock report belongs to a socket and can be struck through; a socket says who ended it, a limit what was odd.

Revision 0004, after 0003.

Until now a report counted for whatever socket was in place on its day. On the day of a change that is two; the older
one is taken, since people report what was worn before the visit. No limit was doubted before there were doubts.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

FILL_SOCKETS = """
UPDATE sock_reports SET socket_id = COALESCE(
    (SELECT sockets.id FROM sockets
     WHERE sockets.device_id = sock_reports.device_id AND sockets.fitted_on <= sock_reports.worn_on
       AND (sockets.ended_on IS NULL OR sock_reports.worn_on <= sockets.ended_on)
     ORDER BY sockets.fitted_on, sockets.id LIMIT 1),
    (SELECT MIN(sockets.id) FROM sockets WHERE sockets.device_id = sock_reports.device_id)
)
"""


def upgrade() -> None:
    with op.batch_alter_table("sock_reports", schema=None) as batch_op:
        batch_op.add_column(sa.Column("socket_id", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("struck_at", sa.DateTime(timezone=True), nullable=True))
        batch_op.add_column(sa.Column("struck_by", sa.String(), nullable=True))
        batch_op.add_column(sa.Column("struck_why", sa.String(), nullable=True))
    op.execute(FILL_SOCKETS)
    with op.batch_alter_table("sock_reports", schema=None) as batch_op:
        batch_op.alter_column("socket_id", existing_type=sa.Integer(), nullable=False)
        batch_op.create_foreign_key(batch_op.f("fk_sock_reports_socket_id_sockets"), "sockets", ["socket_id"], ["id"])
        batch_op.create_index("ix_sock_reports_socket_id_worn_on", ["socket_id", "worn_on"], unique=False)

    with op.batch_alter_table("sockets", schema=None) as batch_op:
        batch_op.add_column(sa.Column("ended_by", sa.String(), nullable=True))

    with op.batch_alter_table("socket_limits", schema=None) as batch_op:
        batch_op.add_column(sa.Column("doubts", sa.JSON(), nullable=True))
    op.execute("UPDATE socket_limits SET doubts = '[]'")
    with op.batch_alter_table("socket_limits", schema=None) as batch_op:
        batch_op.alter_column("doubts", existing_type=sa.JSON(), nullable=False)


def downgrade() -> None:
    with op.batch_alter_table("socket_limits", schema=None) as batch_op:
        batch_op.drop_column("doubts")
    with op.batch_alter_table("sockets", schema=None) as batch_op:
        batch_op.drop_column("ended_by")
    with op.batch_alter_table("sock_reports", schema=None) as batch_op:
        batch_op.drop_index("ix_sock_reports_socket_id_worn_on")
        batch_op.drop_constraint(batch_op.f("fk_sock_reports_socket_id_sockets"), type_="foreignkey")
        batch_op.drop_column("struck_why")
        batch_op.drop_column("struck_by")
        batch_op.drop_column("struck_at")
        batch_op.drop_column("socket_id")
