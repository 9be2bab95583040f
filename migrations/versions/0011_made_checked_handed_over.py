"""What is made, checked and handed over: builds, the gate's checks and rules, safety notices, fittings.

Revision 0011, after 0010.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "check_limits",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("set_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("set_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_check_limits_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "item", name=op.f("pk_check_limits")),
    )
    op.create_table(
        "site_rules",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("rule", sa.String(length=40), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("trustee", sa.String(), nullable=False),
        sa.Column("decided_on", sa.Date(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("ended_on", sa.Date(), nullable=True),
        sa.Column("ended_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_site_rules_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site_rules")),
    )
    with op.batch_alter_table("site_rules", schema=None) as batch_op:
        batch_op.create_index(
            "uq_site_rules_site_rule_standing",
            ["site_id", "rule"],
            unique=True,
            sqlite_where=sa.text("ended_on IS NULL"),
            postgresql_where=sa.text("ended_on IS NULL"),
        )

    op.create_table(
        "notices",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=True),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("printer_id", sa.Integer(), nullable=True),
        sa.Column("from_on", sa.Date(), nullable=True),
        sa.Column("until_on", sa.Date(), nullable=True),
        sa.Column("todo", sa.String(length=40), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("opened_by", sa.String(), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_by", sa.String(), nullable=True),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.CheckConstraint(
            "(version_id IS NOT NULL AND kind = 'version' AND lot_id IS NULL AND printer_id IS NULL)"
            " OR (lot_id IS NOT NULL AND kind = 'lot' AND version_id IS NULL AND printer_id IS NULL)"
            " OR (printer_id IS NOT NULL AND kind = 'printer' AND version_id IS NULL AND lot_id IS NULL)",
            name=op.f("ck_notices_about_one_thing"),
        ),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name=op.f("fk_notices_lot_id_lots")),
        sa.ForeignKeyConstraint(["printer_id"], ["printers.id"], name=op.f("fk_notices_printer_id_printers")),
        sa.ForeignKeyConstraint(["version_id"], ["part_versions.id"], name=op.f("fk_notices_version_id_part_versions")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_notices")),
    )
    with op.batch_alter_table("notices", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_notices_lot_id"), ["lot_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_notices_printer_id"), ["printer_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_notices_version_id"), ["version_id"], unique=False)

    op.create_table(
        "builds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=True),
        sa.Column("side", sa.String(length=40), nullable=True),
        sa.Column("volunteer_id", sa.Integer(), nullable=True),
        sa.Column("printer_id", sa.Integer(), nullable=True),
        sa.Column("offer_id", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("deadline", sa.Date(), nullable=False),
        sa.Column("remarks", sa.String(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("opened_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_builds_device_id_devices")),
        sa.ForeignKeyConstraint(["offer_id"], ["offers.id"], name=op.f("fk_builds_offer_id_offers")),
        sa.ForeignKeyConstraint(["printer_id"], ["printers.id"], name=op.f("fk_builds_printer_id_printers")),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_builds_recipient_id_recipients")),
        sa.ForeignKeyConstraint(["request_id"], ["requests.id"], name=op.f("fk_builds_request_id_requests")),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_builds_site_id_sites")),
        sa.ForeignKeyConstraint(["volunteer_id"], ["volunteers.id"], name=op.f("fk_builds_volunteer_id_volunteers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_builds")),
        sa.UniqueConstraint("offer_id", name=op.f("uq_builds_offer_id")),
    )
    with op.batch_alter_table("builds", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_builds_recipient_id"), ["recipient_id"], unique=False)
        batch_op.create_index("ix_builds_site_id_state", ["site_id", "state"], unique=False)
        batch_op.create_index(batch_op.f("ix_builds_volunteer_id"), ["volunteer_id"], unique=False)
        batch_op.create_index(
            "uq_builds_request_not_dropped",
            ["request_id"],
            unique=True,
            sqlite_where=sa.text("state <> 'dropped'"),
            postgresql_where=sa.text("state <> 'dropped'"),
        )

    op.create_table(
        "notice_cases",
        sa.Column("notice_id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("told_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("answer", sa.String(length=40), nullable=True),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("answered_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["notice_id"], ["notices.id"], name=op.f("fk_notice_cases_notice_id_notices")),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_notice_cases_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("notice_id", "recipient_id", name=op.f("pk_notice_cases")),
    )
    with op.batch_alter_table("notice_cases", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_notice_cases_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "acceptances",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("about", sa.JSON(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("accepted_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("accepted_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_acceptances_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_acceptances")),
    )
    with op.batch_alter_table("acceptances", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_acceptances_build_id"), ["build_id"], unique=False)

    op.create_table(
        "build_items",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("digit", sa.String(length=40), nullable=True),
        sa.Column("side", sa.String(length=40), nullable=True),
        sa.Column("version_id", sa.Integer(), nullable=True),
        sa.Column("scale_across", sa.Double(), nullable=True),
        sa.Column("scale_along", sa.Double(), nullable=True),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("spare", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_build_items_build_id_builds")),
        sa.ForeignKeyConstraint(["place_id"], ["places.id"], name=op.f("fk_build_items_place_id_places")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["part_versions.id"], name=op.f("fk_build_items_version_id_part_versions")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_build_items")),
    )
    with op.batch_alter_table("build_items", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_build_items_build_id"), ["build_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_build_items_version_id"), ["version_id"], unique=False)

    op.create_table(
        "build_moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("came_from", sa.String(length=40), nullable=False),
        sa.Column("to", sa.String(length=40), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("by_account_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_build_moves_build_id_builds")),
        sa.ForeignKeyConstraint(["by_account_id"], ["accounts.id"], name=op.f("fk_build_moves_by_account_id_accounts")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_build_moves")),
    )
    with op.batch_alter_table("build_moves", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_build_moves_build_id"), ["build_id"], unique=False)

    op.create_table(
        "checks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("passed", sa.Boolean(), nullable=False),
        sa.Column("remarks", sa.String(), nullable=False),
        sa.Column("checked_on", sa.Date(), nullable=False),
        sa.Column("signed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("signed_by", sa.String(), nullable=False),
        sa.Column("by_account_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_checks_build_id_builds")),
        sa.ForeignKeyConstraint(["by_account_id"], ["accounts.id"], name=op.f("fk_checks_by_account_id_accounts")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checks")),
    )
    with op.batch_alter_table("checks", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_checks_build_id"), ["build_id"], unique=False)

    op.create_table(
        "deliveries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("to", sa.String(), nullable=False),
        sa.Column("by_post", sa.Boolean(), nullable=False),
        sa.Column("logged_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("logged_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_deliveries_build_id_builds")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_deliveries")),
        sa.UniqueConstraint("build_id", "round", name=op.f("uq_deliveries_build_id_round")),
    )
    op.create_table(
        "follow_ups",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("counts_from", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_follow_ups_build_id_builds")),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_follow_ups_device_id_devices")),
        sa.ForeignKeyConstraint(
            ["recipient_id"], ["recipients.id"], name=op.f("fk_follow_ups_recipient_id_recipients")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_follow_ups")),
        sa.UniqueConstraint("build_id", "name", name=op.f("uq_follow_ups_build_id_name")),
    )
    with op.batch_alter_table("follow_ups", schema=None) as batch_op:
        batch_op.create_index("ix_follow_ups_due_on", ["due_on"], unique=False)
        batch_op.create_index(batch_op.f("ix_follow_ups_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "build_parts",
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["item_id"], ["build_items.id"], name=op.f("fk_build_parts_item_id_build_items")),
        sa.ForeignKeyConstraint(["part_id"], ["parts.id"], name=op.f("fk_build_parts_part_id_parts")),
        sa.PrimaryKeyConstraint("part_id", name=op.f("pk_build_parts")),
    )
    with op.batch_alter_table("build_parts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_build_parts_item_id"), ["item_id"], unique=False)

    op.create_table(
        "findings",
        sa.Column("check_id", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(), nullable=False),
        sa.Column("result", sa.String(length=40), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("limit_words", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["check_id"], ["checks.id"], name=op.f("fk_findings_check_id_checks")),
        sa.PrimaryKeyConstraint("check_id", "item", name=op.f("pk_findings")),
    )
    op.create_table(
        "fittings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("put_on_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("look_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("begun_by", sa.String(), nullable=False),
        sa.Column("by_family", sa.Boolean(), nullable=False),
        sa.Column("on_the_phone", sa.String(), nullable=False),
        sa.Column("guardian_present", sa.String(), nullable=False),
        sa.Column("cautions_acknowledged_by", sa.String(), nullable=False),
        sa.Column("fitted_on", sa.Date(), nullable=True),
        sa.Column("check_id", sa.Integer(), nullable=True),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("done_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_fittings_build_id_builds")),
        sa.ForeignKeyConstraint(["check_id"], ["checks.id"], name=op.f("fk_fittings_check_id_checks")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fittings")),
        sa.UniqueConstraint("build_id", "round", name=op.f("uq_fittings_build_id_round")),
    )
    op.create_table(
        "prints",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("printer_id", sa.Integer(), nullable=True),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("failed_why", sa.String(length=40), nullable=True),
        sa.Column("discarded_why", sa.String(), nullable=True),
        sa.Column("hours", sa.Double(), nullable=True),
        sa.Column("grams", sa.Double(), nullable=True),
        sa.Column("cents", sa.Integer(), nullable=True),
        sa.Column("remarks", sa.String(), nullable=False),
        sa.Column("press", sa.String(), nullable=True),
        sa.Column("printed_on", sa.Date(), nullable=False),
        sa.Column("logged_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("logged_by", sa.String(), nullable=False),
        sa.Column("by_account_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_prints_build_id_builds")),
        sa.ForeignKeyConstraint(["by_account_id"], ["accounts.id"], name=op.f("fk_prints_by_account_id_accounts")),
        sa.ForeignKeyConstraint(["item_id"], ["build_items.id"], name=op.f("fk_prints_item_id_build_items")),
        sa.ForeignKeyConstraint(["printer_id"], ["printers.id"], name=op.f("fk_prints_printer_id_printers")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_prints")),
        sa.UniqueConstraint("press", name=op.f("uq_prints_press")),
    )
    with op.batch_alter_table("prints", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_prints_build_id"), ["build_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_prints_item_id"), ["item_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_prints_printer_id"), ["printer_id"], unique=False)

    op.create_table(
        "lot_uses",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("print_id", sa.Integer(), nullable=True),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["builds.id"], name=op.f("fk_lot_uses_build_id_builds")),
        sa.ForeignKeyConstraint(["item_id"], ["build_items.id"], name=op.f("fk_lot_uses_item_id_build_items")),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name=op.f("fk_lot_uses_lot_id_lots")),
        sa.ForeignKeyConstraint(["print_id"], ["prints.id"], name=op.f("fk_lot_uses_print_id_prints")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot_uses")),
    )
    with op.batch_alter_table("lot_uses", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lot_uses_build_id"), ["build_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lot_uses_item_id"), ["item_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lot_uses_lot_id"), ["lot_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("lot_uses", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lot_uses_lot_id"))
        batch_op.drop_index(batch_op.f("ix_lot_uses_item_id"))
        batch_op.drop_index(batch_op.f("ix_lot_uses_build_id"))

    op.drop_table("lot_uses")
    with op.batch_alter_table("prints", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_prints_printer_id"))
        batch_op.drop_index(batch_op.f("ix_prints_item_id"))
        batch_op.drop_index(batch_op.f("ix_prints_build_id"))

    op.drop_table("prints")
    op.drop_table("fittings")
    op.drop_table("findings")
    with op.batch_alter_table("build_parts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_build_parts_item_id"))

    op.drop_table("build_parts")
    with op.batch_alter_table("follow_ups", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_follow_ups_recipient_id"))
        batch_op.drop_index("ix_follow_ups_due_on")

    op.drop_table("follow_ups")
    op.drop_table("deliveries")
    with op.batch_alter_table("checks", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_checks_build_id"))

    op.drop_table("checks")
    with op.batch_alter_table("build_moves", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_build_moves_build_id"))

    op.drop_table("build_moves")
    with op.batch_alter_table("build_items", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_build_items_version_id"))
        batch_op.drop_index(batch_op.f("ix_build_items_build_id"))

    op.drop_table("build_items")
    with op.batch_alter_table("acceptances", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_acceptances_build_id"))

    op.drop_table("acceptances")
    with op.batch_alter_table("notice_cases", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_notice_cases_recipient_id"))

    op.drop_table("notice_cases")
    with op.batch_alter_table("builds", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_builds_request_not_dropped",
            sqlite_where=sa.text("state <> 'dropped'"),
            postgresql_where=sa.text("state <> 'dropped'"),
        )
        batch_op.drop_index(batch_op.f("ix_builds_volunteer_id"))
        batch_op.drop_index("ix_builds_site_id_state")
        batch_op.drop_index(batch_op.f("ix_builds_recipient_id"))

    op.drop_table("builds")
    with op.batch_alter_table("notices", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_notices_version_id"))
        batch_op.drop_index(batch_op.f("ix_notices_printer_id"))
        batch_op.drop_index(batch_op.f("ix_notices_lot_id"))

    op.drop_table("notices")
    with op.batch_alter_table("site_rules", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_site_rules_site_rule_standing",
            sqlite_where=sa.text("ended_on IS NULL"),
            postgresql_where=sa.text("ended_on IS NULL"),
        )

    op.drop_table("site_rules")
    op.drop_table("check_limits")
