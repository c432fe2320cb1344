"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "clay",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("specks", sa.String(), nullable=False),
        sa.Column("shrinkage_percent", sa.Double(), nullable=True),
        sa.Column("absorption_percent", sa.Double(), nullable=True),
        sa.Column("expansion_ppm_k", sa.Double(), nullable=True),
        sa.Column("cone_range", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "specks IN ('none', 'fine', 'coarse')", name=op.f("ck_clay_specks_known")
        ),
        sa.CheckConstraint(
            "absorption_percent >= 0 AND absorption_percent < 100",
            name=op.f("ck_clay_absorption_possible"),
        ),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_clay_name_given")),
        sa.CheckConstraint(
            "shrinkage_percent >= 0 AND shrinkage_percent < 60",
            name=op.f("ck_clay_shrinkage_possible"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clay")),
        sa.UniqueConstraint("name", name=op.f("uq_clay_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "form",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("shape", sa.String(), nullable=False),
        sa.Column("clay_g", sa.Double(), nullable=True),
        sa.Column("fired_height_mm", sa.Double(), nullable=True),
        sa.Column("fired_across_mm", sa.Double(), nullable=True),
        sa.Column("profile", sa.String(), nullable=True),
        sa.Column("price", sa.Double(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("shape IN ('thrown', 'box', 'tile')", name=op.f("ck_form_shape_known")),
        sa.CheckConstraint("clay_g > 0", name=op.f("ck_form_weight_possible")),
        sa.CheckConstraint("fired_across_mm > 0", name=op.f("ck_form_across_possible")),
        sa.CheckConstraint("fired_height_mm > 0", name=op.f("ck_form_height_possible")),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_form_name_given")),
        sa.CheckConstraint("price >= 0", name=op.f("ck_form_price_possible")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form")),
        sa.UniqueConstraint("name", name=op.f("uq_form_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "glaze",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("version_number", sa.Integer(), nullable=False),
        sa.Column("parent_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("bought", sa.Boolean(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("pattern", sa.Integer(), nullable=False),
        sa.Column("cone_range", sa.String(), nullable=False),
        sa.Column("specific_gravity", sa.Double(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('glaze', 'slip', 'underglaze', 'wash')", name=op.f("ck_glaze_kind_known")
        ),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_glaze_name_given")),
        sa.CheckConstraint("pattern BETWEEN 0 AND 7", name=op.f("ck_glaze_pattern_known")),
        sa.CheckConstraint(
            "specific_gravity > 1 AND specific_gravity < 3", name=op.f("ck_glaze_gravity_possible")
        ),
        sa.CheckConstraint("version_number >= 1", name=op.f("ck_glaze_version_counted")),
        sa.ForeignKeyConstraint(
            ["parent_id"],
            ["glaze.id"],
            name=op.f("fk_glaze_parent_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_glaze")),
        sa.UniqueConstraint("name", "version_number", name=op.f("uq_glaze_name_version_number")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_glaze_parent_id"), "glaze", ["parent_id"], unique=False)
    op.create_table(
        "history_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at_utc", sa.DateTime(), nullable=False),
        sa.Column("desk", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_history_entry")),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_history_entry_desk", "history_entry", ["desk", "state"], unique=False)
    op.create_table(
        "kept_question",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("sentence", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_kept_question_name_given")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kept_question")),
        sa.UniqueConstraint("name", name=op.f("uq_kept_question_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "kiln",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("power_kw", sa.Double(), nullable=True),
        sa.Column("volume_l", sa.Double(), nullable=True),
        sa.Column("shelf_across_mm", sa.Double(), nullable=True),
        sa.Column("thermocouple_type", sa.String(), nullable=False),
        sa.Column("thermocouple_offset_c", sa.Double(), nullable=False),
        sa.Column("calibrated_from", sa.Date(), nullable=True),
        sa.Column("tariff_per_kwh", sa.Double(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_kiln_name_given")),
        sa.CheckConstraint("power_kw > 0", name=op.f("ck_kiln_power_possible")),
        sa.CheckConstraint("shelf_across_mm > 0", name=op.f("ck_kiln_across_possible")),
        sa.CheckConstraint("tariff_per_kwh >= 0", name=op.f("ck_kiln_tariff_possible")),
        sa.CheckConstraint("volume_l > 0", name=op.f("ck_kiln_volume_possible")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kiln")),
        sa.UniqueConstraint("name", name=op.f("uq_kiln_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "log_file",
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log_file")),
        sa.UniqueConstraint("sha256", name=op.f("uq_log_file_sha256")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "orders",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("whom", sa.String(), nullable=False),
        sa.Column("promised_on", sa.Date(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "state IN ('open', 'delivered', 'dropped')", name=op.f("ck_orders_state_known")
        ),
        sa.CheckConstraint("length(trim(whom)) > 0", name=op.f("ck_orders_whom_given")),
        sa.CheckConstraint("number > 0", name=op.f("ck_orders_number_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_orders")),
        sa.UniqueConstraint("number", name=op.f("uq_orders_number")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "photo",
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("suffix", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("byte_count", sa.Integer(), nullable=False),
        sa.Column("taken_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_photo_hash_whole")),
        sa.CheckConstraint("width > 0 AND height > 0", name=op.f("ck_photo_size_possible")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
        sa.UniqueConstraint("sha256", name=op.f("uq_photo_sha256")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "program",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("cone", sa.String(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('bisque', 'glaze', 'decoration', 'test')", name=op.f("ck_program_kind_known")
        ),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_program_name_given")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_program")),
        sa.UniqueConstraint("name", name=op.f("uq_program_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "studio",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_studio")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "bucket",
        sa.Column("glaze_id", sa.Integer(), nullable=False),
        sa.Column("mixed_on", sa.Date(), nullable=False),
        sa.Column("dry_g", sa.Double(), nullable=True),
        sa.Column("water_g", sa.Double(), nullable=True),
        sa.Column("specific_gravity", sa.Double(), nullable=True),
        sa.Column("adjustments", sa.String(), nullable=False),
        sa.Column("used_up", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("dry_g > 0", name=op.f("ck_bucket_dry_possible")),
        sa.CheckConstraint(
            "specific_gravity > 1 AND specific_gravity < 3", name=op.f("ck_bucket_gravity_possible")
        ),
        sa.CheckConstraint("water_g >= 0", name=op.f("ck_bucket_water_possible")),
        sa.ForeignKeyConstraint(
            ["glaze_id"],
            ["glaze.id"],
            name=op.f("fk_bucket_glaze_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bucket")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_bucket_glaze_id"), "bucket", ["glaze_id"], unique=False)
    op.create_table(
        "firing",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kiln_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(), nullable=False),
        sa.Column("program_id", sa.Integer(), nullable=True),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("cone", sa.String(), nullable=True),
        sa.Column("atmosphere", sa.String(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("kwh", sa.Double(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("lesson", sa.String(), nullable=False),
        sa.Column("next_time", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "atmosphere IN ('oxidation', 'neutral', 'reduction')",
            name=op.f("ck_firing_atmosphere_known"),
        ),
        sa.CheckConstraint(
            "kind IN ('bisque', 'glaze', 'decoration', 'test')", name=op.f("ck_firing_kind_known")
        ),
        sa.CheckConstraint("ended_at >= started_at", name=op.f("ck_firing_times_in_order")),
        sa.CheckConstraint("kwh >= 0", name=op.f("ck_firing_energy_possible")),
        sa.CheckConstraint("number > 0", name=op.f("ck_firing_number_positive")),
        sa.ForeignKeyConstraint(
            ["kiln_id"],
            ["kiln.id"],
            name=op.f("fk_firing_kiln_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["program_id"],
            ["program.id"],
            name=op.f("fk_firing_program_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_firing")),
        sa.UniqueConstraint("number", name=op.f("uq_firing_number")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_firing_kiln_id"), "firing", ["kiln_id"], unique=False)
    op.create_index(op.f("ix_firing_program_id"), "firing", ["program_id"], unique=False)
    op.create_index(op.f("ix_firing_started_at"), "firing", ["started_at"], unique=False)
    op.create_table(
        "form_step",
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("minutes", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_form_step_name_given")),
        sa.CheckConstraint("minutes >= 0", name=op.f("ck_form_step_minutes_possible")),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_form_step_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form_step")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_form_step_form_id"), "form_step", ["form_id"], unique=False)
    op.create_table(
        "history_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.String(), nullable=False),
        sa.Column("row_id", sa.Integer(), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["history_entry.id"], name=op.f("fk_history_change_entry_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_history_change")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_history_change_entry_id"), "history_change", ["entry_id"], unique=False
    )
    op.create_index(
        "ix_history_change_row", "history_change", ["table_name", "row_id"], unique=False
    )
    op.create_table(
        "kiln_level",
        sa.Column("kiln_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_kiln_level_name_given")),
        sa.ForeignKeyConstraint(
            ["kiln_id"],
            ["kiln.id"],
            name=op.f("fk_kiln_level_kiln_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kiln_level")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_kiln_level_kiln_id"), "kiln_level", ["kiln_id"], unique=False)
    op.create_table(
        "order_line",
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("wanted", sa.Integer(), nullable=False),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("price", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("price >= 0", name=op.f("ck_order_line_price_possible")),
        sa.CheckConstraint("wanted > 0", name=op.f("ck_order_line_wanted_positive")),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_order_line_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
            name=op.f("fk_order_line_order_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_order_line")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_order_line_form_id"), "order_line", ["form_id"], unique=False)
    op.create_index(op.f("ix_order_line_order_id"), "order_line", ["order_id"], unique=False)
    op.create_table(
        "program_segment",
        sa.Column("program_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("target_c", sa.Double(), nullable=False),
        sa.Column("rate_c_per_h", sa.Double(), nullable=True),
        sa.Column("hold_min", sa.Double(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("hold_min >= 0", name=op.f("ck_program_segment_hold_possible")),
        sa.CheckConstraint("rate_c_per_h > 0", name=op.f("ck_program_segment_rate_positive")),
        sa.CheckConstraint(
            "target_c BETWEEN 0 AND 1450", name=op.f("ck_program_segment_target_possible")
        ),
        sa.ForeignKeyConstraint(
            ["program_id"],
            ["program.id"],
            name=op.f("fk_program_segment_program_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_program_segment")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_program_segment_program_id"), "program_segment", ["program_id"], unique=False
    )
    op.create_table(
        "recipe_line",
        sa.Column("glaze_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("parts", sa.Double(), nullable=False),
        sa.Column("addition", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "length(trim(material)) > 0", name=op.f("ck_recipe_line_material_given")
        ),
        sa.CheckConstraint("parts > 0", name=op.f("ck_recipe_line_parts_positive")),
        sa.ForeignKeyConstraint(
            ["glaze_id"],
            ["glaze.id"],
            name=op.f("fk_recipe_line_glaze_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recipe_line")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_recipe_line_glaze_id"), "recipe_line", ["glaze_id"], unique=False)
    op.create_table(
        "cone_pack",
        sa.Column("firing_id", sa.Integer(), nullable=False),
        sa.Column("level_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_cone_pack_firing_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["level_id"],
            ["kiln_level.id"],
            name=op.f("fk_cone_pack_level_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cone_pack")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_cone_pack_firing_id"), "cone_pack", ["firing_id"], unique=False)
    op.create_index(op.f("ix_cone_pack_level_id"), "cone_pack", ["level_id"], unique=False)
    op.create_table(
        "curve",
        sa.Column("firing_id", sa.Integer(), nullable=False),
        sa.Column("channel", sa.String(), nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("duration_s", sa.Double(), nullable=False),
        sa.Column("log_file_id", sa.Integer(), nullable=True),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("main", sa.Boolean(), nullable=False),
        sa.Column("readings_dropped", sa.Integer(), nullable=False),
        sa.Column("peak_c", sa.Double(), nullable=True),
        sa.Column("cone", sa.Double(), nullable=True),
        sa.Column("cone_low", sa.Double(), nullable=True),
        sa.Column("cone_high", sa.Double(), nullable=True),
        sa.Column("flags", sa.String(), nullable=False),
        sa.Column("reading_notes", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "role IN ('measured', 'setpoint', 'duty', 'other')", name=op.f("ck_curve_role_known")
        ),
        sa.CheckConstraint("readings >= 0", name=op.f("ck_curve_readings_counted")),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_curve_firing_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["log_file_id"],
            ["log_file.id"],
            name=op.f("fk_curve_log_file_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_curve")),
        sa.UniqueConstraint("firing_id", "channel", name=op.f("uq_curve_firing_id_channel")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_curve_firing_id"), "curve", ["firing_id"], unique=False)
    op.create_index(op.f("ix_curve_log_file_id"), "curve", ["log_file_id"], unique=False)
    op.create_table(
        "firing_segment",
        sa.Column("firing_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("target_c", sa.Double(), nullable=False),
        sa.Column("rate_c_per_h", sa.Double(), nullable=True),
        sa.Column("hold_min", sa.Double(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("hold_min >= 0", name=op.f("ck_firing_segment_hold_possible")),
        sa.CheckConstraint("rate_c_per_h > 0", name=op.f("ck_firing_segment_rate_positive")),
        sa.CheckConstraint(
            "target_c BETWEEN 0 AND 1450", name=op.f("ck_firing_segment_target_possible")
        ),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_firing_segment_firing_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_firing_segment")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_firing_segment_firing_id"), "firing_segment", ["firing_id"], unique=False
    )
    op.create_table(
        "level_heat",
        sa.Column("firing_id", sa.Integer(), nullable=False),
        sa.Column("level_id", sa.Integer(), nullable=False),
        sa.Column("cone", sa.Float(), nullable=False),
        sa.Column("cone_low", sa.Float(), nullable=False),
        sa.Column("cone_high", sa.Float(), nullable=False),
        sa.Column("basis", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_level_heat_firing_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("firing_id", "level_id", name=op.f("pk_level_heat")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "run",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("clay_id", sa.Integer(), nullable=True),
        sa.Column("order_line_id", sa.Integer(), nullable=True),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("purpose", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("next_time", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "purpose IN ('order', 'stock', 'house', 'test')", name=op.f("ck_run_purpose_known")
        ),
        sa.CheckConstraint("number > 0", name=op.f("ck_run_number_positive")),
        sa.ForeignKeyConstraint(
            ["clay_id"],
            ["clay.id"],
            name=op.f("fk_run_clay_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_run_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["order_line_id"],
            ["order_line.id"],
            name=op.f("fk_run_order_line_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run")),
        sa.UniqueConstraint("number", name=op.f("uq_run_number")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_run_clay_id"), "run", ["clay_id"], unique=False)
    op.create_index(op.f("ix_run_form_id"), "run", ["form_id"], unique=False)
    op.create_index(op.f("ix_run_order_line_id"), "run", ["order_line_id"], unique=False)
    op.create_table(
        "cone_reading",
        sa.Column("pack_id", sa.Integer(), nullable=False),
        sa.Column("cone", sa.String(), nullable=False),
        sa.Column("bend_low_deg", sa.Double(), nullable=False),
        sa.Column("bend_high_deg", sa.Double(), nullable=False),
        sa.Column("said", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "bend_low_deg <= bend_high_deg", name=op.f("ck_cone_reading_bend_in_order")
        ),
        sa.CheckConstraint(
            "bend_low_deg >= 0 AND bend_high_deg <= 180", name=op.f("ck_cone_reading_bend_possible")
        ),
        sa.CheckConstraint("length(trim(cone)) > 0", name=op.f("ck_cone_reading_cone_given")),
        sa.ForeignKeyConstraint(
            ["pack_id"],
            ["cone_pack.id"],
            name=op.f("fk_cone_reading_pack_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cone_reading")),
        sa.UniqueConstraint("pack_id", "cone", name=op.f("uq_cone_reading_pack_id_cone")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_cone_reading_pack_id"), "cone_reading", ["pack_id"], unique=False)
    op.create_table(
        "piece",
        sa.Column("number", sa.Integer(), nullable=True),
        sa.Column("run_id", sa.Integer(), nullable=True),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("clay_id", sa.Integer(), nullable=True),
        sa.Column("came_from_id", sa.Integer(), nullable=True),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=True),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("lost_why", sa.String(), nullable=False),
        sa.Column("kept_where", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("lesson", sa.String(), nullable=False),
        sa.Column("next_time", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "stage IN ('wet', 'leather_hard', 'bone_dry', 'bisque', 'glazed', 'fired', 'finished', 'lost')",
            name=op.f("ck_piece_stage_known"),
        ),
        sa.CheckConstraint("number > 0", name=op.f("ck_piece_number_positive")),
        sa.CheckConstraint(
            "number IS NOT NULL OR run_id IS NOT NULL", name=op.f("ck_piece_numbered_or_of_a_run")
        ),
        sa.ForeignKeyConstraint(
            ["came_from_id"],
            ["piece.id"],
            name=op.f("fk_piece_came_from_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["clay_id"],
            ["clay.id"],
            name=op.f("fk_piece_clay_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_piece_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["run_id"],
            ["run.id"],
            name=op.f("fk_piece_run_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece")),
        sa.UniqueConstraint("number", name=op.f("uq_piece_number")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_piece_came_from_id"), "piece", ["came_from_id"], unique=False)
    op.create_index(op.f("ix_piece_clay_id"), "piece", ["clay_id"], unique=False)
    op.create_index(op.f("ix_piece_form_id"), "piece", ["form_id"], unique=False)
    op.create_index(op.f("ix_piece_run_id"), "piece", ["run_id"], unique=False)
    op.create_table(
        "inspection",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("looked_on", sa.Date(), nullable=False),
        sa.Column("stress_tested", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_inspection_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_inspection")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_inspection_piece_id"), "inspection", ["piece_id"], unique=False)
    op.create_table(
        "layer",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("glaze_id", sa.Integer(), nullable=False),
        sa.Column("method", sa.String(), nullable=True),
        sa.Column("coats", sa.Integer(), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=True),
        sa.Column("bucket_id", sa.Integer(), nullable=True),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "method IN ('brush', 'dip', 'pour', 'spray', 'trail')",
            name=op.f("ck_layer_method_known"),
        ),
        sa.CheckConstraint("coats >= 1", name=op.f("ck_layer_coats_possible")),
        sa.CheckConstraint("length(trim(zone)) > 0", name=op.f("ck_layer_zone_given")),
        sa.CheckConstraint("position >= 1", name=op.f("ck_layer_position_counted")),
        sa.CheckConstraint("seconds > 0", name=op.f("ck_layer_seconds_possible")),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_layer_thickness_possible")),
        sa.ForeignKeyConstraint(
            ["bucket_id"],
            ["bucket.id"],
            name=op.f("fk_layer_bucket_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["glaze_id"],
            ["glaze.id"],
            name=op.f("fk_layer_glaze_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_layer_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_layer")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_layer_bucket_id"), "layer", ["bucket_id"], unique=False)
    op.create_index(op.f("ix_layer_glaze_id"), "layer", ["glaze_id"], unique=False)
    op.create_index(op.f("ix_layer_piece_id"), "layer", ["piece_id"], unique=False)
    op.create_table(
        "measurement",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("height_mm", sa.Double(), nullable=True),
        sa.Column("across_mm", sa.Double(), nullable=True),
        sa.Column("wall_mm", sa.Double(), nullable=True),
        sa.Column("mass_g", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "stage IN ('wet', 'leather_hard', 'bone_dry', 'bisque', 'glazed', 'fired', 'finished', 'lost')",
            name=op.f("ck_measurement_stage_known"),
        ),
        sa.CheckConstraint("across_mm > 0", name=op.f("ck_measurement_across_possible")),
        sa.CheckConstraint("height_mm > 0", name=op.f("ck_measurement_height_possible")),
        sa.CheckConstraint("mass_g > 0", name=op.f("ck_measurement_mass_possible")),
        sa.CheckConstraint("wall_mm > 0", name=op.f("ck_measurement_wall_possible")),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_measurement_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_measurement")),
        sa.UniqueConstraint("piece_id", "stage", name=op.f("uq_measurement_piece_id_stage")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_measurement_piece_id"), "measurement", ["piece_id"], unique=False)
    op.create_table(
        "pair_fact",
        sa.Column("over_id", sa.Integer(), nullable=False),
        sa.Column("under_id", sa.Integer(), nullable=False),
        sa.Column("clay_id", sa.Integer(), nullable=False),
        sa.Column("cone10", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("alone", sa.Integer(), nullable=False),
        sa.Column("looked_mask", sa.Integer(), nullable=False),
        sa.Column("seen_mask", sa.Integer(), nullable=False),
        sa.Column("severities", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_pair_fact_piece_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint(
            "over_id",
            "under_id",
            "clay_id",
            "cone10",
            "piece_id",
            "zone",
            name=op.f("pk_pair_fact"),
        ),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_pair_fact_piece", "pair_fact", ["piece_id"], unique=False)
    op.create_table(
        "path_fact",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("path", sa.String(), nullable=False),
        sa.Column("methods", sa.String(), nullable=False),
        sa.Column("clay_id", sa.Integer(), nullable=True),
        sa.Column("cone10", sa.Integer(), nullable=True),
        sa.Column("looked_mask", sa.Integer(), nullable=False),
        sa.Column("seen_mask", sa.Integer(), nullable=False),
        sa.Column("severities", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_path_fact_piece_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("piece_id", "zone", name=op.f("pk_path_fact")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "picture",
        sa.Column("photo_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("firing_id", sa.Integer(), nullable=True),
        sa.Column("moment", sa.String(), nullable=False),
        sa.Column("caption", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("px_per_mm", sa.Double(), nullable=True),
        sa.Column("foot_x", sa.Double(), nullable=True),
        sa.Column("foot_y", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "moment IN ('making', 'bone_dry', 'bisque', 'glazed', 'fired', 'later')",
            name=op.f("ck_picture_moment_known"),
        ),
        sa.CheckConstraint(
            "(piece_id IS NULL) <> (firing_id IS NULL)", name=op.f("ck_picture_of_one_thing")
        ),
        sa.CheckConstraint("px_per_mm > 0", name=op.f("ck_picture_scale_possible")),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_picture_firing_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"],
            ["photo.id"],
            name=op.f("fk_picture_photo_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_picture_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_picture")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_picture_firing_id"), "picture", ["firing_id"], unique=False)
    op.create_index(op.f("ix_picture_photo_id"), "picture", ["photo_id"], unique=False)
    op.create_index(op.f("ix_picture_piece_id"), "picture", ["piece_id"], unique=False)
    op.create_table(
        "piece_fact",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("clay_id", sa.Integer(), nullable=True),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("firing_id", sa.Integer(), nullable=True),
        sa.Column("level_id", sa.Integer(), nullable=True),
        sa.Column("atmosphere", sa.String(), nullable=True),
        sa.Column("fired_on", sa.Date(), nullable=True),
        sa.Column("cone10", sa.Integer(), nullable=True),
        sa.Column("cone_low", sa.Float(), nullable=True),
        sa.Column("cone_high", sa.Float(), nullable=True),
        sa.Column("cone_basis", sa.String(), nullable=True),
        sa.Column("looked_mask", sa.Integer(), nullable=False),
        sa.Column("seen_mask", sa.Integer(), nullable=False),
        sa.Column("severities", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_piece_fact_piece_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("piece_id", name=op.f("pk_piece_fact")),
    )
    op.create_index("ix_piece_fact_clay", "piece_fact", ["clay_id", "cone10"], unique=False)
    op.create_index("ix_piece_fact_firing", "piece_fact", ["firing_id", "level_id"], unique=False)
    op.create_table(
        "placement",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("firing_id", sa.Integer(), nullable=False),
        sa.Column("level_id", sa.Integer(), nullable=True),
        sa.Column("position", sa.String(), nullable=False),
        sa.Column("shelf_x", sa.Double(), nullable=True),
        sa.Column("shelf_y", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "shelf_x BETWEEN 0 AND 1 AND shelf_y BETWEEN 0 AND 1",
            name=op.f("ck_placement_on_the_shelf"),
        ),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_placement_firing_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["level_id"],
            ["kiln_level.id"],
            name=op.f("fk_placement_level_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_placement_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_placement")),
        sa.UniqueConstraint("piece_id", "firing_id", name=op.f("uq_placement_piece_id_firing_id")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_placement_firing_id"), "placement", ["firing_id"], unique=False)
    op.create_index(op.f("ix_placement_level_id"), "placement", ["level_id"], unique=False)
    op.create_index(op.f("ix_placement_piece_id"), "placement", ["piece_id"], unique=False)
    op.create_table(
        "run_source",
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_run_source_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["run_id"],
            ["run.id"],
            name=op.f("fk_run_source_run_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run_source")),
        sa.UniqueConstraint("run_id", "piece_id", name=op.f("uq_run_source_run_id_piece_id")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_run_source_piece_id"), "run_source", ["piece_id"], unique=False)
    op.create_index(op.f("ix_run_source_run_id"), "run_source", ["run_id"], unique=False)
    op.create_table(
        "stage_change",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "stage IN ('wet', 'leather_hard', 'bone_dry', 'bisque', 'glazed', 'fired', 'finished', 'lost')",
            name=op.f("ck_stage_change_stage_known"),
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_stage_change_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stage_change")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_stage_change_piece_id"), "stage_change", ["piece_id"], unique=False)
    op.create_table(
        "step",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=False),
        sa.Column("minutes", sa.Double(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_step_name_given")),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_step_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_step")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_step_piece_id"), "step", ["piece_id"], unique=False)
    op.create_table(
        "fault_reading",
        sa.Column("inspection_id", sa.Integer(), nullable=False),
        sa.Column("fault", sa.String(), nullable=False),
        sa.Column("severity", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "fault IN ('crazing', 'crawling', 'pinhole', 'running', 'blister', 'shivering', 'dunting', 'bloating', 'warping', 'crack', 'dry', 'speck', 'colour_off')",
            name=op.f("ck_fault_reading_fault_known"),
        ),
        sa.CheckConstraint(
            "severity BETWEEN 0 AND 3", name=op.f("ck_fault_reading_severity_known")
        ),
        sa.ForeignKeyConstraint(
            ["inspection_id"],
            ["inspection.id"],
            name=op.f("fk_fault_reading_inspection_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fault_reading")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_fault_reading_inspection_id"), "fault_reading", ["inspection_id"], unique=False
    )
