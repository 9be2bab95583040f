"""Requests, volunteers, plans and offers, messages, family links, incidents and concerns; towns for how far.

Revision 0007, after 0006.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "family_link_tries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_family_link_tries")),
    )
    with op.batch_alter_table("family_link_tries", schema=None) as batch_op:
        batch_op.create_index("ix_family_link_tries_who_at", ["who", "at"], unique=False)

    op.create_table(
        "towns",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("latitude", sa.Double(), nullable=False),
        sa.Column("longitude", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_towns")),
        sa.UniqueConstraint("name", name=op.f("uq_towns_name")),
    )
    op.create_table(
        "quiet_wishes",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("quiet_from", sa.Integer(), nullable=False),
        sa.Column("quiet_until", sa.Integer(), nullable=False),
        sa.Column("digest_day", sa.Integer(), nullable=True),
        sa.Column("unsubscribed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_quiet_wishes_account_id_accounts")),
        sa.PrimaryKeyConstraint("account_id", name=op.f("pk_quiet_wishes")),
    )
    op.create_table(
        "matching_weights",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("weights", sa.JSON(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_matching_weights_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", name=op.f("pk_matching_weights")),
    )
    op.create_table(
        "plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("weights", sa.JSON(), nullable=False),
        sa.Column("result", sa.JSON(), nullable=False),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("settled_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_plans_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plans")),
    )
    with op.batch_alter_table("plans", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_plans_site_id"), ["site_id"], unique=False)

    op.create_table(
        "volunteers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("town_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("email", sa.String(), nullable=False),
        sa.Column("phone", sa.String(), nullable=False),
        sa.Column("languages", sa.JSON(), nullable=False),
        sa.Column("hours_a_week", sa.Double(), nullable=False),
        sa.Column("jobs_at_once", sa.Integer(), nullable=False),
        sa.Column("travels_km", sa.Double(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("left_on", sa.Date(), nullable=True),
        sa.Column("looked_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_volunteers_account_id_accounts")),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_volunteers_site_id_sites")),
        sa.ForeignKeyConstraint(["town_id"], ["towns.id"], name=op.f("fk_volunteers_town_id_towns")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_volunteers")),
        sa.UniqueConstraint("account_id", name=op.f("uq_volunteers_account_id")),
    )
    with op.batch_alter_table("volunteers", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_volunteers_site_id"), ["site_id"], unique=False)

    op.create_table(
        "absences",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("volunteer_id", sa.Integer(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_absences_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_absences")),
    )
    with op.batch_alter_table("absences", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_absences_volunteer_id"), ["volunteer_id"], unique=False)

    op.create_table(
        "concerns",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=True),
        sa.Column("volunteer_id", sa.Integer(), nullable=True),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("raised_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("raised_by", sa.String(), nullable=False),
        sa.Column("reach", sa.String(), nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_concerns_recipient_id_recipients")),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_concerns_site_id_sites")),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_concerns_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_concerns")),
    )
    with op.batch_alter_table("concerns", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_concerns_site_id"), ["site_id"], unique=False)

    op.create_table(
        "family_words",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("said_by", sa.String(), nullable=False),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("settled_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_family_words_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_family_words")),
    )
    with op.batch_alter_table("family_words", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_family_words_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "messages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("recipient_id", sa.Integer(), nullable=True),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("channel", sa.String(length=40), nullable=False),
        sa.Column("to_name", sa.String(), nullable=False),
        sa.Column("to_address", sa.String(), nullable=False),
        sa.Column("language", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("settled_by", sa.String(), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("problem", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_messages_account_id_accounts")),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_messages_recipient_id_recipients")),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_messages_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_messages")),
        sa.UniqueConstraint("key", name=op.f("uq_messages_key")),
    )
    with op.batch_alter_table("messages", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_messages_account_id"), ["account_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_messages_recipient_id"), ["recipient_id"], unique=False)
        batch_op.create_index("ix_messages_state_channel_due_at", ["state", "channel", "due_at"], unique=False)

    op.create_table(
        "printers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("volunteer_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("depth_mm", sa.Double(), nullable=False),
        sa.Column("height_mm", sa.Double(), nullable=False),
        sa.Column("nozzle_mm", sa.Double(), nullable=False),
        sa.Column("materials", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_printers_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_printers")),
    )
    with op.batch_alter_table("printers", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_printers_volunteer_id"), ["volunteer_id"], unique=False)

    op.create_table(
        "trainings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("volunteer_id", sa.Integer(), nullable=False),
        sa.Column("skill", sa.String(length=40), nullable=False),
        sa.Column("trained_on", sa.Date(), nullable=False),
        sa.Column("review_due_on", sa.Date(), nullable=True),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_trainings_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trainings")),
    )
    with op.batch_alter_table("trainings", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_trainings_volunteer_id"), ["volunteer_id"], unique=False)

    op.create_table(
        "vettings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("volunteer_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("checked_on", sa.Date(), nullable=False),
        sa.Column("review_due_on", sa.Date(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_vettings_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vettings")),
    )
    with op.batch_alter_table("vettings", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_vettings_volunteer_id"), ["volunteer_id"], unique=False)

    op.create_table(
        "visits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("volunteer_id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("visited_on", sa.Date(), nullable=False),
        sa.Column("guardian_present", sa.String(), nullable=False),
        sa.Column("what_for", sa.String(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_visits_recipient_id_recipients")),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_visits_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visits")),
    )
    with op.batch_alter_table("visits", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_visits_recipient_id"), ["recipient_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_visits_volunteer_id"), ["volunteer_id"], unique=False)

    op.create_table(
        "volunteer_stock",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("volunteer_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("grams", sa.Double(), nullable=True),
        sa.Column("gone_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name=op.f("fk_volunteer_stock_lot_id_lots")),
        sa.ForeignKeyConstraint(
            ["volunteer_id"], ["volunteers.id"], name=op.f("fk_volunteer_stock_volunteer_id_volunteers")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_volunteer_stock")),
    )
    with op.batch_alter_table("volunteer_stock", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_volunteer_stock_volunteer_id"), ["volunteer_id"], unique=False)

    op.create_table(
        "family_links",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("contact_id", sa.Integer(), nullable=True),
        sa.Column("key_hash", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["contact_id"], ["contacts.id"], name=op.f("fk_family_links_contact_id_contacts")),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_family_links_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_family_links")),
        sa.UniqueConstraint("key_hash", name=op.f("uq_family_links_key_hash")),
    )
    with op.batch_alter_table("family_links", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_family_links_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "incidents",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("aware_on", sa.Date(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("opened_by", sa.String(), nullable=False),
        sa.Column("serious", sa.Boolean(), nullable=True),
        sa.Column("judged_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("judged_by", sa.String(), nullable=True),
        sa.Column("judged_why", sa.String(), nullable=False),
        sa.Column("report_by", sa.Date(), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_incidents_device_id_devices")),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_incidents_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_incidents")),
    )
    with op.batch_alter_table("incidents", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_incidents_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "requests",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("need", sa.String(), nullable=False),
        sa.Column("asker", sa.String(length=40), nullable=False),
        sa.Column("asked_by", sa.String(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("usable", sa.Boolean(), nullable=True),
        sa.Column("harm", sa.Boolean(), nullable=False),
        sa.Column("needed_by", sa.Date(), nullable=False),
        sa.Column("tight_on", sa.Date(), nullable=True),
        sa.Column("promised_on", sa.Date(), nullable=True),
        sa.Column("rank", sa.Integer(), nullable=True),
        sa.Column("rank_why", sa.String(), nullable=False),
        sa.Column("rank_by", sa.String(), nullable=True),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("settled_by", sa.String(), nullable=True),
        sa.Column("settled_why", sa.String(), nullable=False),
        sa.Column("joined_into_id", sa.Integer(), nullable=True),
        sa.Column("split_from_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_requests_device_id_devices")),
        sa.ForeignKeyConstraint(["joined_into_id"], ["requests.id"], name=op.f("fk_requests_joined_into_id_requests")),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_requests_recipient_id_recipients")),
        sa.ForeignKeyConstraint(["split_from_id"], ["requests.id"], name=op.f("fk_requests_split_from_id_requests")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_requests")),
    )
    with op.batch_alter_table("requests", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_requests_recipient_id"), ["recipient_id"], unique=False)
        batch_op.create_index("ix_requests_state_needed_by", ["state", "needed_by"], unique=False)
        batch_op.create_index(
            "uq_requests_need_unsettled",
            ["need"],
            unique=True,
            sqlite_where=sa.text("settled_at IS NULL"),
            postgresql_where=sa.text("settled_at IS NULL"),
        )

    op.create_table(
        "review_tasks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=True),
        sa.Column("seen", sa.String(length=40), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("opened_by", sa.String(), nullable=False),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("done_by", sa.String(), nullable=True),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_review_tasks_device_id_devices")),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_review_tasks_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_review_tasks")),
    )
    with op.batch_alter_table("review_tasks", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_review_tasks_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "offers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_id", sa.Integer(), nullable=False),
        sa.Column("volunteer_id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=True),
        sa.Column("printer_id", sa.Integer(), nullable=True),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("deadline", sa.Date(), nullable=False),
        sa.Column("hours", sa.Double(), nullable=False),
        sa.Column("delivers", sa.Boolean(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("offered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("offered_by", sa.String(), nullable=False),
        sa.Column("lapses_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("answer_why", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["plan_id"], ["plans.id"], name=op.f("fk_offers_plan_id_plans")),
        sa.ForeignKeyConstraint(["printer_id"], ["printers.id"], name=op.f("fk_offers_printer_id_printers")),
        sa.ForeignKeyConstraint(["request_id"], ["requests.id"], name=op.f("fk_offers_request_id_requests")),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_offers_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_offers")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_offers_token_hash")),
    )
    with op.batch_alter_table("offers", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_offers_volunteer_id"), ["volunteer_id"], unique=False)
        batch_op.create_index(
            "uq_offers_request_standing",
            ["request_id"],
            unique=True,
            sqlite_where=sa.text("state IN ('waiting', 'accepted')"),
            postgresql_where=sa.text("state IN ('waiting', 'accepted')"),
        )

    op.create_table(
        "request_questions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_id", sa.Integer(), nullable=False),
        sa.Column("question", sa.String(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("asked_by", sa.String(), nullable=False),
        sa.Column("answer", sa.String(), nullable=False),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("answered_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["request_id"], ["requests.id"], name=op.f("fk_request_questions_request_id_requests")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_request_questions")),
    )
    with op.batch_alter_table("request_questions", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_request_questions_request_id"), ["request_id"], unique=False)

    op.create_table(
        "request_waits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_id", sa.Integer(), nullable=False),
        sa.Column("waits_for", sa.String(length=40), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["request_id"], ["requests.id"], name=op.f("fk_request_waits_request_id_requests")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_request_waits")),
    )
    with op.batch_alter_table("request_waits", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_request_waits_request_id"), ["request_id"], unique=False)

    op.create_table(
        "request_parts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("digit", sa.String(length=40), nullable=True),
        sa.Column("side", sa.String(length=40), nullable=True),
        sa.Column("happened", sa.String(length=40), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=True),
        sa.Column("scale_across", sa.Double(), nullable=True),
        sa.Column("scale_along", sa.Double(), nullable=True),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["place_id"], ["places.id"], name=op.f("fk_request_parts_place_id_places")),
        sa.ForeignKeyConstraint(["request_id"], ["requests.id"], name=op.f("fk_request_parts_request_id_requests")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["part_versions.id"], name=op.f("fk_request_parts_version_id_part_versions")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_request_parts")),
    )
    with op.batch_alter_table("request_parts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_request_parts_request_id"), ["request_id"], unique=False)

    with op.batch_alter_table("recipients", schema=None) as batch_op:
        batch_op.add_column(sa.Column("town_id", sa.Integer(), nullable=True))
        batch_op.create_foreign_key(batch_op.f("fk_recipients_town_id_towns"), "towns", ["town_id"], ["id"])

    with op.batch_alter_table("sites", schema=None) as batch_op:
        batch_op.add_column(sa.Column("replacement_days", sa.Integer(), server_default=sa.text("7"), nullable=False))
        batch_op.add_column(sa.Column("town_id", sa.Integer(), nullable=True))
        batch_op.create_foreign_key(batch_op.f("fk_sites_town_id_towns"), "towns", ["town_id"], ["id"])


def downgrade() -> None:
    with op.batch_alter_table("sites", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_sites_town_id_towns"), type_="foreignkey")
        batch_op.drop_column("town_id")
        batch_op.drop_column("replacement_days")

    with op.batch_alter_table("recipients", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_recipients_town_id_towns"), type_="foreignkey")
        batch_op.drop_column("town_id")

    with op.batch_alter_table("request_parts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_request_parts_request_id"))

    op.drop_table("request_parts")
    with op.batch_alter_table("request_waits", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_request_waits_request_id"))

    op.drop_table("request_waits")
    with op.batch_alter_table("request_questions", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_request_questions_request_id"))

    op.drop_table("request_questions")
    with op.batch_alter_table("offers", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_offers_request_standing",
            sqlite_where=sa.text("state IN ('waiting', 'accepted')"),
            postgresql_where=sa.text("state IN ('waiting', 'accepted')"),
        )
        batch_op.drop_index(batch_op.f("ix_offers_volunteer_id"))

    op.drop_table("offers")
    with op.batch_alter_table("review_tasks", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_review_tasks_recipient_id"))

    op.drop_table("review_tasks")
    with op.batch_alter_table("requests", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_requests_need_unsettled",
            sqlite_where=sa.text("settled_at IS NULL"),
            postgresql_where=sa.text("settled_at IS NULL"),
        )
        batch_op.drop_index("ix_requests_state_needed_by")
        batch_op.drop_index(batch_op.f("ix_requests_recipient_id"))

    op.drop_table("requests")
    with op.batch_alter_table("incidents", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_incidents_recipient_id"))

    op.drop_table("incidents")
    with op.batch_alter_table("family_links", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_family_links_recipient_id"))

    op.drop_table("family_links")
    with op.batch_alter_table("volunteer_stock", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_volunteer_stock_volunteer_id"))

    op.drop_table("volunteer_stock")
    with op.batch_alter_table("visits", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_visits_volunteer_id"))
        batch_op.drop_index(batch_op.f("ix_visits_recipient_id"))

    op.drop_table("visits")
    with op.batch_alter_table("vettings", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_vettings_volunteer_id"))

    op.drop_table("vettings")
    with op.batch_alter_table("trainings", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_trainings_volunteer_id"))

    op.drop_table("trainings")
    with op.batch_alter_table("printers", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_printers_volunteer_id"))

    op.drop_table("printers")
    with op.batch_alter_table("messages", schema=None) as batch_op:
        batch_op.drop_index("ix_messages_state_channel_due_at")
        batch_op.drop_index(batch_op.f("ix_messages_recipient_id"))
        batch_op.drop_index(batch_op.f("ix_messages_account_id"))

    op.drop_table("messages")
    with op.batch_alter_table("family_words", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_family_words_recipient_id"))

    op.drop_table("family_words")
    with op.batch_alter_table("concerns", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_concerns_site_id"))

    op.drop_table("concerns")
    with op.batch_alter_table("absences", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_absences_volunteer_id"))

    op.drop_table("absences")
    with op.batch_alter_table("volunteers", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_volunteers_site_id"))

    op.drop_table("volunteers")
    with op.batch_alter_table("plans", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_plans_site_id"))

    op.drop_table("plans")
    op.drop_table("matching_weights")
    op.drop_table("quiet_wishes")
    op.drop_table("towns")
    with op.batch_alter_table("family_link_tries", schema=None) as batch_op:
        batch_op.drop_index("ix_family_link_tries_who_at")

    op.drop_table("family_link_tries")
