"""The tables of the first release: cases, measurements, devices, forecasts, accounts, audit and jobs.

Revision 0001, after nothing.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "accounts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("email", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("password_hash", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_accounts")),
        sa.UniqueConstraint("email", name=op.f("uq_accounts_email")),
    )
    op.create_table(
        "audit_entries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=True),
        sa.Column("actor", sa.String(), nullable=False),
        sa.Column("act", sa.String(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=True),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("subject_id", sa.Integer(), nullable=True),
        sa.Column("changes", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit_entries")),
    )
    with op.batch_alter_table("audit_entries", schema=None) as batch_op:
        batch_op.create_index("ix_audit_entries_recipient_id_id", ["recipient_id", "id"], unique=False)

    op.create_table(
        "jobs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("subject_id", sa.Integer(), nullable=True),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("run_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("lease", sa.String(), nullable=True),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("problem", sa.String(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_jobs")),
    )
    with op.batch_alter_table("jobs", schema=None) as batch_op:
        batch_op.create_index("ix_jobs_kind_subject_id", ["kind", "subject_id"], unique=False)
        batch_op.create_index("ix_jobs_state_run_at", ["state", "run_at"], unique=False)
        batch_op.create_index(
            "uq_jobs_waiting_key",
            ["key"],
            unique=True,
            sqlite_where=sa.text("state = 'queued'"),
            postgresql_where=sa.text("state = 'queued'"),
        )

    op.create_table(
        "sign_in_tries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_tries")),
    )
    with op.batch_alter_table("sign_in_tries", schema=None) as batch_op:
        batch_op.create_index("ix_sign_in_tries_who_at", ["who", "at"], unique=False)

    op.create_table(
        "sites",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sites")),
        sa.UniqueConstraint("code", name=op.f("uq_sites_code")),
    )
    op.create_table(
        "account_roles",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(length=40), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_account_roles_account_id_accounts")),
        sa.PrimaryKeyConstraint("account_id", "role", name=op.f("pk_account_roles")),
    )
    op.create_table(
        "account_sites",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_account_sites_account_id_accounts")),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_account_sites_site_id_sites")),
        sa.PrimaryKeyConstraint("account_id", "site_id", name=op.f("pk_account_sites")),
    )
    op.create_table(
        "api_tokens",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("role", sa.String(length=40), nullable=True),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_api_tokens_account_id_accounts")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_tokens")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_api_tokens_token_hash")),
    )
    with op.batch_alter_table("api_tokens", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_api_tokens_account_id"), ["account_id"], unique=False)

    op.create_table(
        "idempotent_answers",
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("answer", sa.JSON(), nullable=False),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id"], ["accounts.id"], name=op.f("fk_idempotent_answers_account_id_accounts")
        ),
        sa.PrimaryKeyConstraint("account_id", "key", name=op.f("pk_idempotent_answers")),
    )
    op.create_table(
        "recipients",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("case_number", sa.String(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("given_name", sa.String(), nullable=False),
        sa.Column("family_name", sa.String(), nullable=False),
        sa.Column("search_name", sa.String(), nullable=False),
        sa.Column("birth_date", sa.Date(), nullable=False),
        sa.Column("sex", sa.String(length=40), nullable=False),
        sa.Column("language", sa.String(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("state_reason", sa.String(), nullable=False),
        sa.Column("state_since", sa.Date(), nullable=False),
        sa.Column("latex_allergy", sa.Boolean(), nullable=True),
        sa.Column("skin_allergies", sa.String(), nullable=False),
        sa.Column("colour_wishes", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("prescriber_name", sa.String(), nullable=False),
        sa.Column("prescriber_profession", sa.String(), nullable=False),
        sa.Column("prescriber_registration", sa.String(), nullable=False),
        sa.Column("prescribed_on", sa.Date(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_recipients_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recipients")),
        sa.UniqueConstraint("case_number", name=op.f("uq_recipients_case_number")),
    )
    with op.batch_alter_table("recipients", schema=None) as batch_op:
        batch_op.create_index("ix_recipients_site_id_search_name_id", ["site_id", "search_name", "id"], unique=False)
        batch_op.create_index("ix_recipients_site_id_state", ["site_id", "state"], unique=False)

    op.create_table(
        "sessions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("browser", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_sessions_account_id_accounts")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sessions")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_sessions_token_hash")),
    )
    with op.batch_alter_table("sessions", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sessions_account_id"), ["account_id"], unique=False)

    op.create_table(
        "consents",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("purpose", sa.String(length=40), nullable=False),
        sa.Column("given_by", sa.String(), nullable=False),
        sa.Column("given_on", sa.Date(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("withdrawn_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_consents_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consents")),
    )
    with op.batch_alter_table("consents", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_consents_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "contacts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("relation", sa.String(), nullable=False),
        sa.Column("responsibility", sa.String(length=40), nullable=False),
        sa.Column("reach_by", sa.String(length=40), nullable=False),
        sa.Column("email", sa.String(), nullable=False),
        sa.Column("phone", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_contacts_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_contacts")),
    )
    with op.batch_alter_table("contacts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_contacts_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "devices",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("replaces_id", sa.Integer(), nullable=True),
        sa.Column("purpose", sa.String(), nullable=False),
        sa.Column("side", sa.String(length=40), nullable=False),
        sa.Column("use", sa.String(length=40), nullable=False),
        sa.Column("stopped_on", sa.Date(), nullable=True),
        sa.Column("stopped_reason", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_devices_recipient_id_recipients")),
        sa.ForeignKeyConstraint(["replaces_id"], ["devices.id"], name=op.f("fk_devices_replaces_id_devices")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_devices")),
    )
    with op.batch_alter_table("devices", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_devices_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "helpers",
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_helpers_account_id_accounts")),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_helpers_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("recipient_id", "account_id", name=op.f("pk_helpers")),
    )
    with op.batch_alter_table("helpers", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_helpers_account_id"), ["account_id"], unique=False)

    op.create_table(
        "limbs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("side", sa.String(length=40), nullable=False),
        sa.Column("cause", sa.String(length=40), nullable=False),
        sa.Column("level", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_limbs_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_limbs")),
        sa.UniqueConstraint("recipient_id", "side", name=op.f("uq_limbs_recipient_id_side")),
    )
    op.create_table(
        "measurements",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("method", sa.String(length=40), nullable=False),
        sa.Column("taken_by", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_measurements_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_measurements")),
    )
    with op.batch_alter_table("measurements", schema=None) as batch_op:
        batch_op.create_index("ix_measurements_recipient_id_taken_on", ["recipient_id", "taken_on"], unique=False)

    op.create_table(
        "reviews",
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("age", sa.Integer(), nullable=False),
        sa.Column("held_on", sa.Date(), nullable=False),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_reviews_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("recipient_id", "age", name=op.f("pk_reviews")),
    )
    op.create_table(
        "suitability_notes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("verdict", sa.String(length=40), nullable=False),
        sa.Column("watch_for", sa.String(), nullable=False),
        sa.Column("noted_by", sa.String(), nullable=False),
        sa.Column("noted_on", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_suitability_notes_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suitability_notes")),
    )
    with op.batch_alter_table("suitability_notes", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_suitability_notes_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "control_settings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=False),
        sa.Column("set_on", sa.Date(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("value", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_control_settings_device_id_devices")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_control_settings")),
    )
    with op.batch_alter_table("control_settings", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_control_settings_device_id"), ["device_id"], unique=False)

    op.create_table(
        "readings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("measurement_id", sa.Integer(), nullable=False),
        sa.Column("dimension", sa.String(length=40), nullable=False),
        sa.Column("side", sa.String(length=40), nullable=True),
        sa.Column("level_mm", sa.Double(), nullable=True),
        sa.Column("landmark", sa.String(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("spread", sa.Double(), nullable=False),
        sa.Column("repeats", sa.JSON(), nullable=False),
        sa.Column("doubts", sa.JSON(), nullable=False),
        sa.Column("corrects_id", sa.Integer(), nullable=True),
        sa.Column("struck_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("struck_by", sa.String(), nullable=True),
        sa.Column("struck_why", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["corrects_id"], ["readings.id"], name=op.f("fk_readings_corrects_id_readings")),
        sa.ForeignKeyConstraint(
            ["measurement_id"], ["measurements.id"], name=op.f("fk_readings_measurement_id_measurements")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_readings")),
        sa.UniqueConstraint("corrects_id", name=op.f("uq_readings_corrects_id")),
    )
    with op.batch_alter_table("readings", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_readings_measurement_id"), ["measurement_id"], unique=False)

    op.create_table(
        "sock_reports",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=False),
        sa.Column("worn_on", sa.Date(), nullable=False),
        sa.Column("plies", sa.JSON(), nullable=False),
        sa.Column("fit", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_sock_reports_device_id_devices")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sock_reports")),
    )
    with op.batch_alter_table("sock_reports", schema=None) as batch_op:
        batch_op.create_index("ix_sock_reports_device_id_worn_on", ["device_id", "worn_on"], unique=False)

    op.create_table(
        "sockets",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=False),
        sa.Column("fitted_on", sa.Date(), nullable=False),
        sa.Column("socks_at_fitting", sa.JSON(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.Column("end_reason", sa.String(length=40), nullable=True),
        sa.Column("end_note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_sockets_device_id_devices")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sockets")),
    )
    with op.batch_alter_table("sockets", schema=None) as batch_op:
        batch_op.create_index("ix_sockets_device_id", ["device_id"], unique=False)
        batch_op.create_index(
            "uq_sockets_in_place",
            ["device_id"],
            unique=True,
            sqlite_where=sa.text("ended_on IS NULL"),
            postgresql_where=sa.text("ended_on IS NULL"),
        )

    op.create_table(
        "forecasts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=False),
        sa.Column("socket_id", sa.Integer(), nullable=False),
        sa.Column("is_newest", sa.Boolean(), nullable=False),
        sa.Column("as_of", sa.Date(), nullable=False),
        sa.Column("computed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("model", sa.String(), nullable=False),
        sa.Column("inputs_hash", sa.String(), nullable=False),
        sa.Column("p10", sa.Date(), nullable=True),
        sa.Column("p50", sa.Date(), nullable=True),
        sa.Column("p90", sa.Date(), nullable=True),
        sa.Column("start_by", sa.Date(), nullable=True),
        sa.Column("already", sa.Double(), nullable=False),
        sa.Column("limiting_dimension", sa.String(length=40), nullable=True),
        sa.Column("answer", sa.JSON(), nullable=False),
        sa.Column("explanation", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_forecasts_device_id_devices")),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_forecasts_recipient_id_recipients")),
        sa.ForeignKeyConstraint(["socket_id"], ["sockets.id"], name=op.f("fk_forecasts_socket_id_sockets")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_forecasts")),
    )
    with op.batch_alter_table("forecasts", schema=None) as batch_op:
        batch_op.create_index("ix_forecasts_recipient_id", ["recipient_id"], unique=False)
        batch_op.create_index("ix_forecasts_socket_id_as_of", ["socket_id", "as_of"], unique=False)
        batch_op.create_index(
            "uq_forecasts_newest",
            ["socket_id"],
            unique=True,
            sqlite_where=sa.text("is_newest"),
            postgresql_where=sa.text("is_newest"),
        )

    op.create_table(
        "socket_limits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("socket_id", sa.Integer(), nullable=False),
        sa.Column("dimension", sa.String(length=40), nullable=False),
        sa.Column("side", sa.String(length=40), nullable=True),
        sa.Column("level_mm", sa.Double(), nullable=True),
        sa.Column("tight_at_mm", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(["socket_id"], ["sockets.id"], name=op.f("fk_socket_limits_socket_id_sockets")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_socket_limits")),
        sa.UniqueConstraint(
            "socket_id",
            "dimension",
            "side",
            "level_mm",
            name=op.f("uq_socket_limits_socket_id_dimension_side_level_mm"),
        ),
    )
    with op.batch_alter_table("socket_limits", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_socket_limits_socket_id"), ["socket_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("socket_limits", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_socket_limits_socket_id"))

    op.drop_table("socket_limits")
    with op.batch_alter_table("forecasts", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_forecasts_newest", sqlite_where=sa.text("is_newest"), postgresql_where=sa.text("is_newest")
        )
        batch_op.drop_index("ix_forecasts_socket_id_as_of")
        batch_op.drop_index("ix_forecasts_recipient_id")

    op.drop_table("forecasts")
    with op.batch_alter_table("sockets", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_sockets_in_place",
            sqlite_where=sa.text("ended_on IS NULL"),
            postgresql_where=sa.text("ended_on IS NULL"),
        )
        batch_op.drop_index("ix_sockets_device_id")

    op.drop_table("sockets")
    with op.batch_alter_table("sock_reports", schema=None) as batch_op:
        batch_op.drop_index("ix_sock_reports_device_id_worn_on")

    op.drop_table("sock_reports")
    with op.batch_alter_table("readings", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_readings_measurement_id"))

    op.drop_table("readings")
    with op.batch_alter_table("control_settings", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_control_settings_device_id"))

    op.drop_table("control_settings")
    with op.batch_alter_table("suitability_notes", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_suitability_notes_recipient_id"))

    op.drop_table("suitability_notes")
    op.drop_table("reviews")
    with op.batch_alter_table("measurements", schema=None) as batch_op:
        batch_op.drop_index("ix_measurements_recipient_id_taken_on")

    op.drop_table("measurements")
    op.drop_table("limbs")
    with op.batch_alter_table("helpers", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_helpers_account_id"))

    op.drop_table("helpers")
    with op.batch_alter_table("devices", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_devices_recipient_id"))

    op.drop_table("devices")
    with op.batch_alter_table("contacts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_contacts_recipient_id"))

    op.drop_table("contacts")
    with op.batch_alter_table("consents", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_consents_recipient_id"))

    op.drop_table("consents")
    with op.batch_alter_table("sessions", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_sessions_account_id"))

    op.drop_table("sessions")
    with op.batch_alter_table("recipients", schema=None) as batch_op:
        batch_op.drop_index("ix_recipients_site_id_state")
        batch_op.drop_index("ix_recipients_site_id_search_name_id")

    op.drop_table("recipients")
    op.drop_table("idempotent_answers")
    with op.batch_alter_table("api_tokens", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_api_tokens_account_id"))

    op.drop_table("api_tokens")
    op.drop_table("account_sites")
    op.drop_table("account_roles")
    op.drop_table("sites")
    with op.batch_alter_table("sign_in_tries", schema=None) as batch_op:
        batch_op.drop_index("ix_sign_in_tries_who_at")

    op.drop_table("sign_in_tries")
    with op.batch_alter_table("jobs", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_jobs_waiting_key",
            sqlite_where=sa.text("state = 'queued'"),
            postgresql_where=sa.text("state = 'queued'"),
        )
        batch_op.drop_index("ix_jobs_state_run_at")
        batch_op.drop_index("ix_jobs_kind_subject_id")

    op.drop_table("jobs")
    with op.batch_alter_table("audit_entries", schema=None) as batch_op:
        batch_op.drop_index("ix_audit_entries_recipient_id_id")

    op.drop_table("audit_entries")
    op.drop_table("accounts")
