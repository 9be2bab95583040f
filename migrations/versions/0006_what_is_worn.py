"""Designs, their versions and shapes; lots; parts with their lots and places.

Revision 0006, after 0005.

A version that was released never changes: the database itself refuses. One of a design is never removed either; one
made for a person goes when that person's data go.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

CONTENT = (
    "design_id, shape_id, number, what_changed, why, licence, interface, materials, print_settings, features, checks, "
    "axis, inside, file_sha256, file_name, file_bytes, format, unit, picture_sha256, geometry"
)
REFUSALS = {
    "released_stays": (f"UPDATE OF {CONTENT}", "OLD.state <> 'draft'", "a released part version never changes"),
    "state_goes_on": (
        "UPDATE OF state",
        "OLD.state = 'withdrawn' OR (OLD.state = 'released' AND NEW.state = 'draft')",
        "a part version goes from draft to released to withdrawn",
    ),
    "released_is_kept": (
        "DELETE",
        "OLD.state <> 'draft' AND OLD.design_id IS NOT NULL",
        "a released part version is never removed",
    ),
}


def upgrade() -> None:
    op.create_table(
        "part_designs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("search_name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("digit", sa.String(length=40), nullable=True),
        sa.Column("side", sa.String(length=40), nullable=True),
        sa.Column("interface", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("created_by", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part_designs")),
        sa.UniqueConstraint("search_name", name=op.f("uq_part_designs_search_name")),
    )
    op.create_table(
        "lots",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("maker", sa.String(), nullable=False),
        sa.Column("batch", sa.String(), nullable=False),
        sa.Column("received_on", sa.Date(), nullable=False),
        sa.Column("quantity", sa.Double(), nullable=True),
        sa.Column("unit", sa.String(length=40), nullable=False),
        sa.Column("latex_free", sa.Boolean(), nullable=True),
        sa.Column("skin_contact", sa.Boolean(), nullable=True),
        sa.Column("safety_note", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("search_words", sa.String(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("state_why", sa.String(), nullable=False),
        sa.Column("state_since", sa.Date(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("created_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_lots_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lots")),
        sa.UniqueConstraint(
            "site_id", "maker", "what", "colour", "batch", name=op.f("uq_lots_site_id_maker_what_colour_batch")
        ),
    )
    op.create_table(
        "shapes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recipient_id", sa.Integer(), nullable=False),
        sa.Column("side", sa.String(length=40), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("taken_by", sa.String(), nullable=False),
        sa.Column("method", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("file_sha256", sa.String(length=64), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("file_bytes", sa.Integer(), nullable=False),
        sa.Column("format", sa.String(length=40), nullable=False),
        sa.Column("unit", sa.String(length=40), nullable=False),
        sa.Column("picture_sha256", sa.String(length=64), nullable=False),
        sa.Column("geometry", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("created_by", sa.String(), nullable=False),
        sa.Column("struck_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("struck_by", sa.String(), nullable=True),
        sa.Column("struck_why", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["recipient_id"], ["recipients.id"], name=op.f("fk_shapes_recipient_id_recipients")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shapes")),
    )
    with op.batch_alter_table("shapes", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_shapes_recipient_id"), ["recipient_id"], unique=False)

    op.create_table(
        "part_versions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("design_id", sa.Integer(), nullable=True),
        sa.Column("shape_id", sa.Integer(), nullable=True),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("what_changed", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("licence", sa.String(), nullable=False),
        sa.Column("interface", sa.String(), nullable=False),
        sa.Column("materials", sa.JSON(), nullable=False),
        sa.Column("print_settings", sa.JSON(), nullable=False),
        sa.Column("features", sa.JSON(), nullable=False),
        sa.Column("checks", sa.JSON(), nullable=False),
        sa.Column("axis", sa.JSON(), nullable=False),
        sa.Column("inside", sa.JSON(), nullable=True),
        sa.Column("file_sha256", sa.String(length=64), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("file_bytes", sa.Integer(), nullable=False),
        sa.Column("format", sa.String(length=40), nullable=False),
        sa.Column("unit", sa.String(length=40), nullable=False),
        sa.Column("picture_sha256", sa.String(length=64), nullable=False),
        sa.Column("geometry", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("created_by", sa.String(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("released_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("released_by", sa.String(), nullable=True),
        sa.Column("released_why", sa.String(), nullable=True),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("withdrawn_by", sa.String(), nullable=True),
        sa.Column("withdrawn_why", sa.String(), nullable=True),
        sa.Column("successor_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "(design_id IS NULL) <> (shape_id IS NULL)", name=op.f("ck_part_versions_of_a_design_or_a_shape")
        ),
        sa.ForeignKeyConstraint(
            ["design_id"], ["part_designs.id"], name=op.f("fk_part_versions_design_id_part_designs")
        ),
        sa.ForeignKeyConstraint(["shape_id"], ["shapes.id"], name=op.f("fk_part_versions_shape_id_shapes")),
        sa.ForeignKeyConstraint(
            ["successor_id"], ["part_versions.id"], name=op.f("fk_part_versions_successor_id_part_versions")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part_versions")),
        sa.UniqueConstraint("design_id", "number", name=op.f("uq_part_versions_design_id_number")),
        sa.UniqueConstraint("shape_id", "number", name=op.f("uq_part_versions_shape_id_number")),
    )
    op.create_table(
        "parts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("digit", sa.String(length=40), nullable=True),
        sa.Column("side", sa.String(length=40), nullable=True),
        sa.Column("version_id", sa.Integer(), nullable=True),
        sa.Column("scale_across", sa.Double(), nullable=True),
        sa.Column("scale_along", sa.Double(), nullable=True),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("serial", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("created_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_parts_site_id_sites")),
        sa.ForeignKeyConstraint(["version_id"], ["part_versions.id"], name=op.f("fk_parts_version_id_part_versions")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_parts")),
    )
    with op.batch_alter_table("parts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_parts_version_id"), ["version_id"], unique=False)

    op.create_table(
        "part_lots",
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name=op.f("fk_part_lots_lot_id_lots")),
        sa.ForeignKeyConstraint(["part_id"], ["parts.id"], name=op.f("fk_part_lots_part_id_parts")),
        sa.PrimaryKeyConstraint("part_id", "lot_id", name=op.f("pk_part_lots")),
    )
    with op.batch_alter_table("part_lots", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_part_lots_lot_id"), ["lot_id"], unique=False)

    op.create_table(
        "places",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.Integer(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("came_off", sa.String(length=40), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("doubts", sa.JSON(), nullable=False),
        sa.Column("end_note", sa.String(), nullable=False),
        sa.Column("ended_by", sa.String(), nullable=True),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["device_id"], ["devices.id"], name=op.f("fk_places_device_id_devices")),
        sa.ForeignKeyConstraint(["part_id"], ["parts.id"], name=op.f("fk_places_part_id_parts")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_places")),
    )
    with op.batch_alter_table("places", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_places_device_id"), ["device_id"], unique=False)
        batch_op.create_index("ix_places_part_id", ["part_id"], unique=False)
        batch_op.create_index(
            "uq_places_part_now",
            ["part_id"],
            unique=True,
            sqlite_where=sa.text("until IS NULL"),
            postgresql_where=sa.text("until IS NULL"),
        )

    op.create_table(
        "socket_parts",
        sa.Column("socket_id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("doubts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["part_id"], ["parts.id"], name=op.f("fk_socket_parts_part_id_parts")),
        sa.ForeignKeyConstraint(["socket_id"], ["sockets.id"], name=op.f("fk_socket_parts_socket_id_sockets")),
        sa.PrimaryKeyConstraint("socket_id", name=op.f("pk_socket_parts")),
    )
    with op.batch_alter_table("socket_parts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_socket_parts_part_id"), ["part_id"], unique=False)

    with op.batch_alter_table("audit_entries", schema=None) as batch_op:
        batch_op.create_index(
            "ix_audit_entries_subject_subject_id",
            ["subject", "subject_id"],
            unique=False,
            sqlite_where=sa.text("recipient_id IS NULL"),
            postgresql_where=sa.text("recipient_id IS NULL"),
        )

    if op.get_bind().dialect.name == "sqlite":
        for name, (act, when, said) in REFUSALS.items():
            op.execute(
                f"CREATE TRIGGER part_versions_{name} BEFORE {act} ON part_versions FOR EACH ROW WHEN {when} "
                f"BEGIN SELECT RAISE(ABORT, '{said}'); END"
            )
        return
    op.execute(
        "CREATE FUNCTION refuse_version_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0]; END $$"
    )
    for name, (act, when, said) in REFUSALS.items():
        op.execute(
            f"CREATE TRIGGER part_versions_{name} BEFORE {act} ON part_versions FOR EACH ROW WHEN ({when}) "
            f"EXECUTE FUNCTION refuse_version_change('{said}')"
        )


def downgrade() -> None:
    with op.batch_alter_table("audit_entries", schema=None) as batch_op:
        batch_op.drop_index(
            "ix_audit_entries_subject_subject_id",
            sqlite_where=sa.text("recipient_id IS NULL"),
            postgresql_where=sa.text("recipient_id IS NULL"),
        )

    with op.batch_alter_table("socket_parts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_socket_parts_part_id"))

    op.drop_table("socket_parts")
    with op.batch_alter_table("places", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_places_part_now", sqlite_where=sa.text("until IS NULL"), postgresql_where=sa.text("until IS NULL")
        )
        batch_op.drop_index("ix_places_part_id")
        batch_op.drop_index(batch_op.f("ix_places_device_id"))

    op.drop_table("places")
    with op.batch_alter_table("part_lots", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_part_lots_lot_id"))

    op.drop_table("part_lots")
    with op.batch_alter_table("parts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_parts_version_id"))

    op.drop_table("parts")
    if op.get_bind().dialect.name == "sqlite":
        for name in REFUSALS:
            op.execute(f"DROP TRIGGER part_versions_{name}")
    op.drop_table("part_versions")
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION refuse_version_change()")
    with op.batch_alter_table("shapes", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_shapes_recipient_id"))

    op.drop_table("shapes")
    op.drop_table("lots")
    op.drop_table("part_designs")
