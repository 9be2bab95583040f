"""How people get on with what they wear: follow-ups, goals, scores; why a device was stopped, as one of few reasons.

Revision 0014, after 0013.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "goals",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=True),
        sa.Column("instead_of_id", sa.Integer(), nullable=True),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("voice", sa.String(length=40), nullable=False),
        sa.Column("weight", sa.Integer(), nullable=False),
        sa.Column("levels", sa.JSON(), nullable=False),
        sa.Column("baseline", sa.Integer(), nullable=False),
        sa.Column("agreed_on", sa.Date(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.Column("ended_why", sa.String(), nullable=True),
        sa.Column("ended_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_goals_device_id_devices")),
        sa.ForeignKeyConstraint(["instead_of_id"], ["goals.id"], name=op.f("fk_goals_instead_of_id_goals")),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_goals_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_goals")),
    )
    with op.batch_alter_table("goals", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_goals_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "questionnaire_scores",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=True),
        sa.Column("instrument", sa.String(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("score", sa.Double(), nullable=False),
        sa.Column("scored_on", sa.Date(), nullable=False),
        sa.Column("voice", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_questionnaire_scores_device_id_devices")),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_questionnaire_scores_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_questionnaire_scores")),
    )
    with op.batch_alter_table("questionnaire_scores", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_questionnaire_scores_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "device_follow_ups",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=False),
        sa.Column("ask", sa.String(), nullable=False),
        sa.Column("outcome", sa.String(length=40), nullable=False),
        sa.Column("said_on", sa.Date(), nullable=False),
        sa.Column("way", sa.String(length=40), nullable=False),
        sa.Column("answered_by", sa.String(length=40), nullable=True),
        sa.Column("used", sa.Boolean(), nullable=True),
        sa.Column("why_not", sa.String(length=40), nullable=True),
        sa.Column("why_not_words", sa.String(), nullable=False),
        sa.Column("days_a_week", sa.Integer(), nullable=True),
        sa.Column("hours_a_day", sa.Double(), nullable=True),
        sa.Column("comfort", sa.Integer(), nullable=True),
        sa.Column("pain", sa.String(length=40), nullable=True),
        sa.Column("pain_where", sa.String(), nullable=False),
        sa.Column("used_for", sa.JSON(), nullable=False),
        sa.Column("recommend", sa.String(length=40), nullable=True),
        sa.Column("harm", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("incident_id", sa.Integer(), nullable=True),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("seen_to_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("seen_to_by", sa.String(), nullable=True),
        sa.Column("struck_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("struck_by", sa.String(), nullable=True),
        sa.Column("struck_why", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_device_follow_ups_device_id_devices")),
        sa.ForeignKeyConstraint(
            ["incident_id"], ["incidents.id"], name=op.f("fk_device_follow_ups_incident_id_incidents")
        ),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_device_follow_ups_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_device_follow_ups")),
    )
    with op.batch_alter_table("device_follow_ups", schema=None) as batch_op:
        batch_op.create_index("ix_device_follow_ups_recipient_id_said_on", ["recipient_id", "said_on"], unique=False)
        batch_op.create_index(
            "ix_device_follow_ups_to_see_to",
            ["recipient_id"],
            unique=False,
            sqlite_where=sa.text("NOT used AND seen_to_at IS NULL AND struck_at IS NULL"),
            postgresql_where=sa.text("NOT used AND seen_to_at IS NULL AND struck_at IS NULL"),
        )
        batch_op.create_index(
            "uq_device_follow_ups_standing",
            ["device_id", "ask"],
            unique=True,
            sqlite_where=sa.text("outcome <> 'not_reached' AND struck_at IS NULL"),
            postgresql_where=sa.text("outcome <> 'not_reached' AND struck_at IS NULL"),
        )

    op.create_table(
        "goal_scores",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("goal_id", sa.Integer(), nullable=False),
        sa.Column("scored_on", sa.Date(), nullable=False),
        sa.Column("voice", sa.String(length=40), nullable=False),
        sa.Column("level", sa.Integer(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["goal_id"], ["goals.id"], name=op.f("fk_goal_scores_goal_id_goals")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_goal_scores")),
        sa.UniqueConstraint("goal_id", "scored_on", "voice", name=op.f("uq_goal_scores_goal_id_scored_on_voice")),
    )
    with op.batch_alter_table("devices", schema=None) as batch_op:
        batch_op.add_column(sa.Column("stopped_why", sa.String(length=40), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("devices", schema=None) as batch_op:
        batch_op.drop_column("stopped_why")

    op.drop_table("goal_scores")
    with op.batch_alter_table("device_follow_ups", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_device_follow_ups_standing",
            sqlite_where=sa.text("outcome <> 'not_reached' AND struck_at IS NULL"),
            postgresql_where=sa.text("outcome <> 'not_reached' AND struck_at IS NULL"),
        )
        batch_op.drop_index(
            "ix_device_follow_ups_to_see_to",
            sqlite_where=sa.text("NOT used AND seen_to_at IS NULL AND struck_at IS NULL"),
            postgresql_where=sa.text("NOT used AND seen_to_at IS NULL AND struck_at IS NULL"),
        )
        batch_op.drop_index("ix_device_follow_ups_recipient_id_said_on")

    op.drop_table("device_follow_ups")
    with op.batch_alter_table("questionnaire_scores", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_questionnaire_scores_recipient_id"))

    op.drop_table("questionnaire_scores")
    with op.batch_alter_table("goals", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_goals_recipient_id"))

    op.drop_table("goals")
