"""Work in hand: orders in detail, sets, ideas, ways of making, drying, the next kiln; exact money."""

import re

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# Prices that were floats become whole thousandths; that of a kWh, hundred-thousandths.
_EXACT = {
    "form": ("price", 3),
    "order_line": ("price", 3),
    "kiln": ("tariff_per_kwh", 5),
    "tariff": ("per_kwh", 5),
}
_REFERRING = {
    "form": {"parent_id": "form"},
    "order_line": {"clay_id": "clay", "glaze_id": "glaze", "set_id": "ware_set"},
    "run": {"way_id": "way"},
    "piece": {"order_line_id": "order_line", "shipment_id": "shipment", "set_part_id": "set_part"},
}


def upgrade() -> None:
    _make_tables()
    for table in _EXACT | _REFERRING:
        _alter(table)
    _add_columns()
    # What was lost before said its stage only by the line of its history before the last.
    op.execute(
        "UPDATE piece SET lost_at = (SELECT stage FROM stage_change"
        " WHERE stage_change.piece_id = piece.id AND stage_change.stage <> 'lost'"
        " ORDER BY stage_change.at DESC, stage_change.id DESC LIMIT 1) WHERE stage = 'lost'"
    )


def _alter(table: str) -> None:
    """Make a table's price exact, where it has one, and add what refers to other tables."""
    column, decimals = _EXACT.get(table, ("", 0))
    referring = _REFERRING.get(table, {})
    exact = f"CAST(round({column} * {10**decimals}) AS BIGINT)"
    rules = [
        f"CONSTRAINT fk_{table}_{name} FOREIGN KEY({name}) REFERENCES {target} (id)"
        " DEFERRABLE INITIALLY IMMEDIATE"
        for name, target in referring.items()
    ]
    if op.get_bind().dialect.name == "postgresql":
        if column:
            op.execute(f"ALTER TABLE {table} ALTER COLUMN {column} TYPE BIGINT USING {exact}")
        for name in referring:
            op.execute(f"ALTER TABLE {table} ADD COLUMN {name} INTEGER")
        for rule in rules:
            op.execute(f"ALTER TABLE {table} ADD {rule}")
    else:
        _copy(table, column, exact, list(referring), rules)
    for name in referring:
        given = f" WHERE {name} IS NOT NULL" if table == "piece" else ""
        op.execute(f"CREATE INDEX ix_{table}_{name} ON {table} ({name}){given}")


def _copy(table: str, column: str, exact: str, added: list[str], rules: list[str]) -> None:
    """SQLite can't change the type of a column, nor add a rule: the table is copied.

    It is copied as its own statement says, so that its other rules stay; what it last numbered is
    carried over, as an id is never given twice.
    """
    bind = op.get_bind()
    of_table = {"table": table}
    asked = "SELECT sql FROM sqlite_master WHERE tbl_name = :table AND sql IS NOT NULL AND type = "
    made = bind.scalar(sa.text(f"{asked}'table'"), of_table)
    indexes = bind.scalars(sa.text(f"{asked}'index'"), of_table).all()
    last = bind.scalar(sa.text("SELECT seq FROM sqlite_sequence WHERE name = :table"), of_table)
    copy, changed = re.subn(rf'^CREATE TABLE "?{table}"?', f"CREATE TABLE {table}_copy", made)
    if column:
        copy, typed = re.subn(rf"\b{column} (DOUBLE|FLOAT)\b", f"{column} BIGINT", copy)
        changed += typed - 1
    head, between, tail = copy.partition("\n\tCONSTRAINT ")
    if changed != 1 or not between or not tail.rstrip().endswith(")"):
        raise RuntimeError(f"the table {table} is not as the first tables made it")
    columns = "".join(f"\n\t{name} INTEGER, " for name in added)
    end = "".join(f", \n\t{rule}" for rule in rules)
    old = [row[1] for row in bind.exec_driver_sql(f"PRAGMA table_info({table})")]
    values = ", ".join(exact if name == column else name for name in old)
    op.execute(f"{head}{columns}{between}{tail.rstrip()[:-1].rstrip()}{end}\n)")
    op.execute(f"INSERT INTO {table}_copy ({', '.join(old)}) SELECT {values} FROM {table}")
    op.execute(f"DROP TABLE {table}")
    op.execute(f"ALTER TABLE {table}_copy RENAME TO {table}")
    for index in indexes:
        op.execute(index)
    if last is not None:
        op.execute(f"DELETE FROM sqlite_sequence WHERE name = '{table}'")
        op.execute(f"INSERT INTO sqlite_sequence (name, seq) VALUES ('{table}', {last})")


def _add_columns() -> None:
    # A rule that comes with a new column needs no copy of the whole table, on either database.
    postgresql = op.get_bind().dialect.name == "postgresql"
    number, no = ("DOUBLE PRECISION", "false") if postgresql else ("DOUBLE", "0")

    def add(table: str, column: str, rest: str) -> None:
        op.execute(f"ALTER TABLE {table} ADD COLUMN {column} {rest}")

    def check(table: str, name: str, rule: str) -> str:
        return f"CONSTRAINT ck_{table}_{name} CHECK ({rule})"

    def one_of(table: str, column: str, *words: str) -> str:
        listed = ", ".join(f"'{word}'" for word in words)
        return check(table, f"{column}_known", f"{column} IN ({listed})")

    stages = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished", "lost")
    add("clay", "price_per_kg", "BIGINT " + check("clay", "price_possible", "price_per_kg >= 0"))

    add(
        "form",
        "standing",
        "VARCHAR NOT NULL DEFAULT 'go' " + one_of("form", "standing", "trial", "go", "no_go"),
    )
    for column, name in (
        ("fired_deep_mm", "deep"),
        ("stack_mm", "stack"),
        ("workable_h", "workable"),
    ):
        add("form", column, f"{number} " + check("form", f"{name}_possible", f"{column} > 0"))
    add("form_step", "stage", "VARCHAR " + one_of("form_step", "stage", *stages))
    add(
        "form_step",
        "persons",
        "INTEGER NOT NULL DEFAULT 1 " + check("form_step", "persons_possible", "persons >= 1"),
    )

    add(
        "kiln",
        "shelf_shape",
        "VARCHAR NOT NULL DEFAULT 'round' "
        + one_of("kiln", "shelf_shape", "round", "hexagon", "octagon", "rectangle"),
    )
    for column, name, rule in (
        ("shelf_deep_mm", "deep_possible", "shelf_deep_mm > 0"),
        ("shelf_thick_mm", "thick_possible", "shelf_thick_mm >= 0"),
        ("chamber_height_mm", "chamber_possible", "chamber_height_mm > 0"),
    ):
        add("kiln", column, f"{number} " + check("kiln", name, rule))
    add("kiln", "posts_mm", "VARCHAR NOT NULL DEFAULT ''")
    for column in ("shelves", "half_shelves"):
        add("kiln", column, "INTEGER " + check("kiln", f"{column}_possible", f"{column} >= 0"))
    add("kiln", "probe_x", number)
    add(
        "kiln",
        "probe_y",
        f"{number} "
        + check("kiln", "probe_inside", "probe_x BETWEEN 0 AND 1 AND probe_y BETWEEN 0 AND 1"),
    )
    add(
        "kiln",
        "probe_clear_mm",
        f"{number} " + check("kiln", "probe_clear_possible", "probe_clear_mm >= 0"),
    )
    add(
        "kiln",
        "worth_percent",
        f"{number} "
        + check("kiln", "worth_possible", "worth_percent > 0 AND worth_percent <= 100"),
    )
    add(
        "kiln_level",
        "from_floor_mm",
        f"{number} " + check("kiln_level", "floor_possible", "from_floor_mm >= 0"),
    )
    add(
        "measurement",
        "mark_mm",
        f"{number} " + check("measurement", "mark_possible", "mark_mm > 0"),
    )

    add(
        "orders",
        "kind",
        "VARCHAR NOT NULL DEFAULT 'pre_order' "
        + one_of("orders", "kind", "pre_order", "wholesale", "restock", "house"),
    )
    add("orders", "contact", "VARCHAR NOT NULL DEFAULT ''")
    add("orders", "ordered_on", "DATE")
    add(
        "orders",
        "promised_from",
        "DATE " + check("orders", "promise_in_order", "promised_from <= promised_on"),
    )
    add("orders", "promise_words", "VARCHAR NOT NULL DEFAULT ''")

    add(
        "piece",
        "kind",
        "VARCHAR NOT NULL DEFAULT 'ware' " + one_of("piece", "kind", "ware", "tool"),
    )
    add("piece", "lost_at", "VARCHAR " + one_of("piece", "lost_at", *stages))
    add("step", "zone", "VARCHAR NOT NULL DEFAULT ''")
    add("step", "rework", f"BOOLEAN NOT NULL DEFAULT {no}")

    add("studio", "currency", "VARCHAR NOT NULL DEFAULT ''")
    add("studio", "work_days", "VARCHAR NOT NULL DEFAULT ''")
    add(
        "studio",
        "hours_a_day",
        f"{number} " + check("studio", "hours_possible", "hours_a_day > 0 AND hours_a_day <= 24"),
    )
    add("studio", "hour_rate", "BIGINT " + check("studio", "rate_possible", "hour_rate >= 0"))


def _make_tables() -> None:
    op.create_table(
        "away",
        sa.Column("first_on", sa.Date(), nullable=False),
        sa.Column("last_on", sa.Date(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("first_on <= last_on", name=op.f("ck_away_days_in_order")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_away")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "ware_set",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("wanted", sa.Integer(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_ware_set_name_given")),
        sa.CheckConstraint("wanted > 0", name=op.f("ck_ware_set_wanted_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ware_set")),
        sa.UniqueConstraint("name", name=op.f("uq_ware_set_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "form_decision",
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("decided_on", sa.Date(), nullable=False),
        sa.Column("standing", sa.String(), nullable=False),
        sa.Column("reasons", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "standing IN ('trial', 'go', 'no_go')", name=op.f("ck_form_decision_standing_known")
        ),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_form_decision_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form_decision")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_form_decision_form_id"), "form_decision", ["form_id"], unique=False)

    op.create_table(
        "form_zone",
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_form_zone_name_given")),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_form_zone_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form_zone")),
        sa.UniqueConstraint("form_id", "name", name=op.f("uq_form_zone_form_id_name")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_form_zone_form_id"), "form_zone", ["form_id"], unique=False)

    op.create_table(
        "idea",
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("noted_on", sa.Date(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.Column("settled_on", sa.Date(), nullable=True),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("kind IN ('idea', 'question')", name=op.f("ck_idea_kind_known")),
        sa.CheckConstraint(
            "state IN ('open', 'form', 'answered', 'dropped')", name=op.f("ck_idea_state_known")
        ),
        sa.CheckConstraint("length(trim(title)) > 0", name=op.f("ck_idea_title_given")),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_idea_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_idea")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_idea_form_id"), "idea", ["form_id"], unique=False)

    op.create_table(
        "set_part",
        sa.Column("set_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("each", sa.Integer(), nullable=False),
        sa.Column("form_id", sa.Integer(), nullable=True),
        sa.Column("clay_id", sa.Integer(), nullable=True),
        sa.Column("glaze_id", sa.Integer(), nullable=True),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("each > 0", name=op.f("ck_set_part_each_positive")),
        sa.ForeignKeyConstraint(
            ["clay_id"],
            ["clay.id"],
            name=op.f("fk_set_part_clay_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_set_part_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["glaze_id"],
            ["glaze.id"],
            name=op.f("fk_set_part_glaze_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["set_id"],
            ["ware_set.id"],
            name=op.f("fk_set_part_set_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_set_part")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_set_part_clay_id"), "set_part", ["clay_id"], unique=False)
    op.create_index(op.f("ix_set_part_form_id"), "set_part", ["form_id"], unique=False)
    op.create_index(op.f("ix_set_part_glaze_id"), "set_part", ["glaze_id"], unique=False)
    op.create_index(op.f("ix_set_part_set_id"), "set_part", ["set_id"], unique=False)

    op.create_table(
        "shipment",
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("shipped_on", sa.Date(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["order_id"],
            ["orders.id"],
            name=op.f("fk_shipment_order_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shipment")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_shipment_order_id"), "shipment", ["order_id"], unique=False)

    op.create_table(
        "way",
        sa.Column("form_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("standing", sa.String(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "standing IN ('trying', 'keep', 'drop')", name=op.f("ck_way_standing_known")
        ),
        sa.CheckConstraint("length(trim(name)) > 0", name=op.f("ck_way_name_given")),
        sa.ForeignKeyConstraint(
            ["form_id"],
            ["form.id"],
            name=op.f("fk_way_form_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_way")),
        sa.UniqueConstraint("form_id", "name", name=op.f("uq_way_form_id_name")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_way_form_id"), "way", ["form_id"], unique=False)

    op.create_table(
        "idea_picture",
        sa.Column("idea_id", sa.Integer(), nullable=False),
        sa.Column("photo_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("caption", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["idea_id"],
            ["idea.id"],
            name=op.f("fk_idea_picture_idea_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"],
            ["photo.id"],
            name=op.f("fk_idea_picture_photo_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_idea_picture")),
        sa.UniqueConstraint("idea_id", "photo_id", name=op.f("uq_idea_picture_idea_id_photo_id")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_idea_picture_idea_id"), "idea_picture", ["idea_id"], unique=False)
    op.create_index(op.f("ix_idea_picture_photo_id"), "idea_picture", ["photo_id"], unique=False)

    op.create_table(
        "kiln_load",
        sa.Column("kiln_id", sa.Integer(), nullable=False),
        sa.Column("begun_on", sa.Date(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("cone", sa.String(), nullable=False),
        sa.Column("atmosphere", sa.String(), nullable=False),
        sa.Column("program_id", sa.Integer(), nullable=True),
        sa.Column("planned_on", sa.Date(), nullable=True),
        sa.Column("firing_id", sa.Integer(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "atmosphere IN ('oxidation', 'neutral', 'reduction')",
            name=op.f("ck_kiln_load_atmosphere_known"),
        ),
        sa.CheckConstraint(
            "kind IN ('bisque', 'glaze', 'decoration', 'test')",
            name=op.f("ck_kiln_load_kind_known"),
        ),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_kiln_load_firing_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["kiln_id"],
            ["kiln.id"],
            name=op.f("fk_kiln_load_kiln_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["program_id"],
            ["program.id"],
            name=op.f("fk_kiln_load_program_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kiln_load")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_kiln_load_firing_id"), "kiln_load", ["firing_id"], unique=False)
    op.create_index(op.f("ix_kiln_load_kiln_id"), "kiln_load", ["kiln_id"], unique=False)
    op.create_index(op.f("ix_kiln_load_program_id"), "kiln_load", ["program_id"], unique=False)

    op.create_table(
        "cover_change",
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("cover", sa.String(), nullable=False),
        sa.Column("weather", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "cover IN ('open', 'cloth', 'loose', 'sealed', 'damp_box')",
            name=op.f("ck_cover_change_cover_known"),
        ),
        sa.CheckConstraint(
            "weather IN ('dry', 'usual', 'damp')", name=op.f("ck_cover_change_weather_known")
        ),
        sa.ForeignKeyConstraint(
            ["run_id"],
            ["run.id"],
            name=op.f("fk_cover_change_run_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cover_change")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_cover_change_run_id"), "cover_change", ["run_id"], unique=False)

    op.create_table(
        "load_shelf",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("clear_mm", sa.Double(), nullable=False),
        sa.Column("level_id", sa.Integer(), nullable=True),
        sa.Column("part", sa.String(), nullable=False),
        sa.Column("pack_x", sa.Double(), nullable=True),
        sa.Column("pack_y", sa.Double(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "part IN ('full', 'left', 'right')", name=op.f("ck_load_shelf_part_known")
        ),
        sa.CheckConstraint("clear_mm > 0", name=op.f("ck_load_shelf_clear_possible")),
        sa.CheckConstraint("position >= 1", name=op.f("ck_load_shelf_position_counted")),
        sa.ForeignKeyConstraint(
            ["level_id"],
            ["kiln_level.id"],
            name=op.f("fk_load_shelf_level_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["load_id"],
            ["kiln_load.id"],
            name=op.f("fk_load_shelf_load_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_load_shelf")),
        sa.UniqueConstraint("load_id", "position", name=op.f("uq_load_shelf_load_id_position")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_load_shelf_level_id"), "load_shelf", ["level_id"], unique=False)
    op.create_index(op.f("ix_load_shelf_load_id"), "load_shelf", ["load_id"], unique=False)

    op.create_table(
        "absorption_test",
        sa.Column("clay_id", sa.Integer(), nullable=False),
        sa.Column("tested_on", sa.Date(), nullable=False),
        sa.Column("dry_g", sa.Double(), nullable=False),
        sa.Column("saturated_g", sa.Double(), nullable=False),
        sa.Column("suspended_g", sa.Double(), nullable=True),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("cone", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("dry_g > 0", name=op.f("ck_absorption_test_dry_possible")),
        sa.CheckConstraint(
            "saturated_g >= dry_g", name=op.f("ck_absorption_test_saturated_possible")
        ),
        sa.CheckConstraint(
            "suspended_g >= 0 AND suspended_g < saturated_g",
            name=op.f("ck_absorption_test_suspended_possible"),
        ),
        sa.ForeignKeyConstraint(
            ["clay_id"],
            ["clay.id"],
            name=op.f("fk_absorption_test_clay_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_absorption_test_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_absorption_test")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_absorption_test_clay_id"), "absorption_test", ["clay_id"], unique=False
    )
    op.create_index(
        op.f("ix_absorption_test_piece_id"), "absorption_test", ["piece_id"], unique=False
    )

    op.create_table(
        "load_place",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("shelf_id", sa.Integer(), nullable=True),
        sa.Column("x_mm", sa.Double(), nullable=True),
        sa.Column("y_mm", sa.Double(), nullable=True),
        sa.Column("turned_deg", sa.Double(), nullable=False),
        sa.Column("on_place_id", sa.Integer(), nullable=True),
        sa.Column("on_tile", sa.Boolean(), nullable=False),
        sa.Column("by_hand", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(shelf_id IS NULL) = (x_mm IS NULL) AND (shelf_id IS NULL) = (y_mm IS NULL)",
            name=op.f("ck_load_place_placed_whole"),
        ),
        sa.ForeignKeyConstraint(
            ["load_id"],
            ["kiln_load.id"],
            name=op.f("fk_load_place_load_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["on_place_id"],
            ["load_place.id"],
            name=op.f("fk_load_place_on_place_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_load_place_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["shelf_id"],
            ["load_shelf.id"],
            name=op.f("fk_load_place_shelf_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_load_place")),
        sa.UniqueConstraint("load_id", "piece_id", name=op.f("uq_load_place_load_id_piece_id")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_load_place_load_id"), "load_place", ["load_id"], unique=False)
    op.create_index(op.f("ix_load_place_on_place_id"), "load_place", ["on_place_id"], unique=False)
    op.create_index(op.f("ix_load_place_piece_id"), "load_place", ["piece_id"], unique=False)
    op.create_index(op.f("ix_load_place_shelf_id"), "load_place", ["shelf_id"], unique=False)

    op.create_table(
        "tool_use",
        sa.Column("tool_id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=True),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(run_id IS NULL) <> (piece_id IS NULL)", name=op.f("ck_tool_use_on_one_thing")
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_tool_use_piece_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["run_id"],
            ["run.id"],
            name=op.f("fk_tool_use_run_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["tool_id"],
            ["piece.id"],
            name=op.f("fk_tool_use_tool_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tool_use")),
        sa.UniqueConstraint(
            "tool_id", "run_id", "piece_id", name=op.f("uq_tool_use_tool_id_run_id_piece_id")
        ),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_tool_use_piece_id"), "tool_use", ["piece_id"], unique=False)
    op.create_index(op.f("ix_tool_use_run_id"), "tool_use", ["run_id"], unique=False)
    op.create_index(op.f("ix_tool_use_tool_id"), "tool_use", ["tool_id"], unique=False)
