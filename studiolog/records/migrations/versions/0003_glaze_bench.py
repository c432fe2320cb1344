"""Materials with their lots and stock, buckets in detail, test plans, and words for a surface."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "material",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("shipped", sa.String(), nullable=False),
        sa.Column("solid_density", sa.Double(), nullable=True),
        sa.Column("low_g", sa.Double(), nullable=True),
        sa.Column("hazards", sa.String(), nullable=False),
        sa.Column("bought_from", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_material_name_given")),
        sa.CheckConstraint("low_g >= 0", name=op.f("ck_material_low_possible")),
        sa.CheckConstraint(
            "solid_density > 0.1 AND solid_density < 20", name=op.f("ck_material_density_possible")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_material")),
        sa.UniqueConstraint("name", name=op.f("uq_material_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "material_lot",
        sa.Column("material_id", sa.Integer(), nullable=False),
        sa.Column("basis", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("dated", sa.Date(), nullable=True),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("loi_percent", sa.Double(), nullable=True),
        sa.Column("price_per_kg", sa.BigInteger(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "basis IN ('theoretical', 'typical', 'analysis')",
            name=op.f("ck_material_lot_basis_known"),
        ),
        sa.CheckConstraint(
            "loi_percent > -100 AND loi_percent <= 100", name=op.f("ck_material_lot_loss_possible")
        ),
        sa.CheckConstraint("price_per_kg >= 0", name=op.f("ck_material_lot_price_possible")),
        sa.ForeignKeyConstraint(
            ["material_id"],
            ["material.id"],
            name=op.f("fk_material_lot_material_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_material_lot")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_material_lot_material_id"), "material_lot", ["material_id"], unique=False
    )

    op.create_table(
        "bucket_change",
        sa.Column("bucket_id", sa.Integer(), nullable=False),
        sa.Column("changed_on", sa.Date(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("specific_gravity", sa.Double(), nullable=True),
        sa.Column("volume_ml", sa.Double(), nullable=True),
        sa.Column("grams", sa.Double(), nullable=True),
        sa.Column("mesh", sa.Integer(), nullable=True),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('measured', 'sieved', 'water', 'dry', 'flocculated', 'deflocculated', 'other')",
            name=op.f("ck_bucket_change_kind_known"),
        ),
        sa.CheckConstraint("grams >= 0", name=op.f("ck_bucket_change_grams_possible")),
        sa.CheckConstraint("mesh > 0", name=op.f("ck_bucket_change_mesh_possible")),
        sa.CheckConstraint(
            "specific_gravity > 1 AND specific_gravity < 3",
            name=op.f("ck_bucket_change_gravity_possible"),
        ),
        sa.CheckConstraint("volume_ml >= 0", name=op.f("ck_bucket_change_volume_possible")),
        sa.ForeignKeyConstraint(
            ["bucket_id"],
            ["bucket.id"],
            name=op.f("fk_bucket_change_bucket_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bucket_change")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_bucket_change_bucket_id"), "bucket_change", ["bucket_id"], unique=False
    )

    op.create_table(
        "bucket_line",
        sa.Column("bucket_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=True),
        sa.Column("wanted_g", sa.Double(), nullable=False),
        sa.Column("weighed_g", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "length(trim(material)) > 0", name=op.f("ck_bucket_line_material_given")
        ),
        sa.CheckConstraint("wanted_g >= 0", name=op.f("ck_bucket_line_wanted_possible")),
        sa.CheckConstraint("weighed_g >= 0", name=op.f("ck_bucket_line_weighed_possible")),
        sa.ForeignKeyConstraint(
            ["bucket_id"],
            ["bucket.id"],
            name=op.f("fk_bucket_line_bucket_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["lot_id"],
            ["material_lot.id"],
            name=op.f("fk_bucket_line_lot_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bucket_line")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_bucket_line_bucket_id"), "bucket_line", ["bucket_id"], unique=False)
    op.create_index(op.f("ix_bucket_line_lot_id"), "bucket_line", ["lot_id"], unique=False)

    op.create_table(
        "lot_oxide",
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("oxide", sa.String(), nullable=False),
        sa.Column("percent", sa.Double(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(oxide)) > 0", name=op.f("ck_lot_oxide_oxide_given")),
        sa.CheckConstraint(
            "percent >= 0 AND percent <= 200", name=op.f("ck_lot_oxide_percent_possible")
        ),
        sa.ForeignKeyConstraint(
            ["lot_id"],
            ["material_lot.id"],
            name=op.f("fk_lot_oxide_lot_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot_oxide")),
        sa.UniqueConstraint("lot_id", "oxide", name=op.f("uq_lot_oxide_lot_id_oxide")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_lot_oxide_lot_id"), "lot_oxide", ["lot_id"], unique=False)

    op.create_table(
        "test_plan",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("clay_id", sa.Integer(), nullable=True),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("run_id", sa.Integer(), nullable=True),
        sa.Column("program_id", sa.Integer(), nullable=True),
        sa.Column("cone", sa.String(), nullable=False),
        sa.Column("tile_dry_g", sa.Double(), nullable=True),
        sa.Column("tile_columns", sa.Integer(), nullable=False),
        sa.Column("options", sa.String(), nullable=False),
        sa.Column("question", sa.String(), nullable=False),
        sa.Column("lesson", sa.String(), nullable=False),
        sa.Column("next_time", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('line', 'triaxial', 'grid', 'pyramid', 'silica_alumina', 'additions', 'over_under', 'thickness')",
            name=op.f("ck_test_plan_kind_known"),
        ),
        sa.CheckConstraint("length(trim(code)) > 0", name=op.f("ck_test_plan_code_given")),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_test_plan_name_given")),
        sa.CheckConstraint("tile_columns >= 1", name=op.f("ck_test_plan_columns_possible")),
        sa.CheckConstraint("tile_dry_g > 0", name=op.f("ck_test_plan_size_possible")),
        sa.ForeignKeyConstraint(
            ["clay_id"],
            ["clay.id"],
            name=op.f("fk_test_plan_clay_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_test_plan_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["program_id"],
            ["program.id"],
            name=op.f("fk_test_plan_program_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["run_id"],
            ["run.id"],
            name=op.f("fk_test_plan_run_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_test_plan")),
        sa.UniqueConstraint("code", name=op.f("uq_test_plan_code")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_test_plan_clay_id"), "test_plan", ["clay_id"], unique=False)
    op.create_index(op.f("ix_test_plan_form_id"), "test_plan", ["form_id"], unique=False)
    op.create_index(op.f("ix_test_plan_program_id"), "test_plan", ["program_id"], unique=False)
    op.create_index(op.f("ix_test_plan_run_id"), "test_plan", ["run_id"], unique=False)

    op.create_table(
        "plan_corner",
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("glaze_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("specific_gravity", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "specific_gravity > 1 AND specific_gravity < 3",
            name=op.f("ck_plan_corner_gravity_possible"),
        ),
        sa.ForeignKeyConstraint(
            ["glaze_id"],
            ["glaze.id"],
            name=op.f("fk_plan_corner_glaze_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"],
            ["test_plan.id"],
            name=op.f("fk_plan_corner_plan_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_corner")),
        sa.UniqueConstraint("plan_id", "position", name=op.f("uq_plan_corner_plan_id_position")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_plan_corner_glaze_id"), "plan_corner", ["glaze_id"], unique=False)
    op.create_index(op.f("ix_plan_corner_plan_id"), "plan_corner", ["plan_id"], unique=False)

    op.create_table(
        "plan_tile",
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("at_row", sa.Integer(), nullable=False),
        sa.Column("at_column", sa.Integer(), nullable=False),
        sa.Column("shares", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("position >= 1", name=op.f("ck_plan_tile_position_counted")),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_plan_tile_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"],
            ["test_plan.id"],
            name=op.f("fk_plan_tile_plan_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_tile")),
        sa.UniqueConstraint("plan_id", "position", name=op.f("uq_plan_tile_plan_id_position")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_plan_tile_piece_id"), "plan_tile", ["piece_id"], unique=True)
    op.create_index(op.f("ix_plan_tile_plan_id"), "plan_tile", ["plan_id"], unique=False)

    op.create_table(
        "stock_change",
        sa.Column("material_id", sa.Integer(), nullable=False),
        sa.Column("changed_on", sa.Date(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("grams", sa.Double(), nullable=False),
        sa.Column("paid", sa.BigInteger(), nullable=True),
        sa.Column("bucket_id", sa.Integer(), nullable=True),
        sa.Column("bucket_change_id", sa.Integer(), nullable=True),
        sa.Column("plan_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "kind <> 'counted' OR grams >= 0", name=op.f("ck_stock_change_counted_possible")
        ),
        sa.CheckConstraint(
            "kind IN ('bought', 'counted', 'mixed', 'tests', 'lost')",
            name=op.f("ck_stock_change_kind_known"),
        ),
        sa.CheckConstraint("paid >= 0", name=op.f("ck_stock_change_paid_possible")),
        sa.ForeignKeyConstraint(
            ["bucket_id"],
            ["bucket.id"],
            name=op.f("fk_stock_change_bucket_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["bucket_change_id"],
            ["bucket_change.id"],
            name=op.f("fk_stock_change_bucket_change_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["material_id"],
            ["material.id"],
            name=op.f("fk_stock_change_material_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"],
            ["test_plan.id"],
            name=op.f("fk_stock_change_plan_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_change")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_stock_change_bucket_change_id"), "stock_change", ["bucket_change_id"], unique=False
    )
    op.create_index(op.f("ix_stock_change_bucket_id"), "stock_change", ["bucket_id"], unique=False)
    op.create_index(
        op.f("ix_stock_change_material_id"), "stock_change", ["material_id"], unique=False
    )
    op.create_index(op.f("ix_stock_change_plan_id"), "stock_change", ["plan_id"], unique=False)

    op.create_table(
        "plan_layer",
        sa.Column("tile_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("glaze_id", sa.Integer(), nullable=False),
        sa.Column("method", sa.String(), nullable=True),
        sa.Column("coats", sa.Integer(), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=True),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "method IN ('brush', 'dip', 'pour', 'spray', 'trail')",
            name=op.f("ck_plan_layer_method_known"),
        ),
        sa.CheckConstraint("coats >= 1", name=op.f("ck_plan_layer_coats_possible")),
        sa.CheckConstraint("position >= 1", name=op.f("ck_plan_layer_position_counted")),
        sa.CheckConstraint("seconds > 0", name=op.f("ck_plan_layer_seconds_possible")),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_plan_layer_thickness_possible")),
        sa.ForeignKeyConstraint(
            ["glaze_id"],
            ["glaze.id"],
            name=op.f("fk_plan_layer_glaze_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["tile_id"],
            ["plan_tile.id"],
            name=op.f("fk_plan_layer_tile_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_layer")),
        sa.UniqueConstraint("tile_id", "position", name=op.f("uq_plan_layer_tile_id_position")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_plan_layer_glaze_id"), "plan_layer", ["glaze_id"], unique=False)
    op.create_index(op.f("ix_plan_layer_tile_id"), "plan_layer", ["tile_id"], unique=False)

    op.create_table(
        "surface_reading",
        sa.Column("inspection_id", sa.Integer(), nullable=False),
        sa.Column("word", sa.String(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "word IN ('glossy', 'satin', 'matt', 'dry_surface', 'clear', 'translucent', 'opaque', 'even', 'breaking', 'mottled', 'streaked', 'crystals', 'halo', 'smooth', 'wavy', 'rough', 'unmelted', 'stiff', 'fluid')",
            name=op.f("ck_surface_reading_word_known"),
        ),
        sa.ForeignKeyConstraint(
            ["inspection_id"],
            ["inspection.id"],
            name=op.f("fk_surface_reading_inspection_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_surface_reading")),
        sa.UniqueConstraint(
            "inspection_id", "word", "zone", name=op.f("uq_surface_reading_inspection_id_word_zone")
        ),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_surface_reading_inspection_id"), "surface_reading", ["inspection_id"], unique=False
    )
    op.create_index(op.f("ix_surface_reading_word"), "surface_reading", ["word"], unique=False)

    # A rule that comes with a new column needs no copy of the whole table, on either database.
    postgresql = op.get_bind().dialect.name == "postgresql"
    number, no = ("DOUBLE PRECISION", "false") if postgresql else ("DOUBLE", "0")
    op.execute(f"ALTER TABLE glaze ADD COLUMN trial BOOLEAN NOT NULL DEFAULT {no}")
    op.execute(
        f"ALTER TABLE glaze ADD COLUMN dry_g_per_piece {number} "
        "CONSTRAINT ck_glaze_use_possible CHECK (dry_g_per_piece > 0)"
    )
    # Nothing refers to the lines of a recipe, and they are few: this table may be copied. What it
    # last numbered is carried over, because an id is never given twice.
    last = None
    if not postgresql:
        last = op.get_bind().scalar(
            sa.text("SELECT seq FROM sqlite_sequence WHERE name = 'recipe_line'")
        )
    with op.batch_alter_table("recipe_line", table_kwargs={"sqlite_autoincrement": True}) as lines:
        lines.add_column(sa.Column("lot_id", sa.Integer(), nullable=True))
        lines.create_foreign_key(
            op.f("fk_recipe_line_lot_id"),
            "material_lot",
            ["lot_id"],
            ["id"],
            initially="IMMEDIATE",
            deferrable=True,
        )
    op.create_index(op.f("ix_recipe_line_lot_id"), "recipe_line", ["lot_id"], unique=False)
    if last is not None:
        op.execute("DELETE FROM sqlite_sequence WHERE name = 'recipe_line'")
        op.execute(f"INSERT INTO sqlite_sequence (name, seq) VALUES ('recipe_line', {last})")
    # No surface was described before: 0 is what the facts of older pieces say too.
    for facts in ("piece_fact", "path_fact", "pair_fact"):
        op.execute(f"ALTER TABLE {facts} ADD COLUMN surfaces INTEGER NOT NULL DEFAULT 0")
