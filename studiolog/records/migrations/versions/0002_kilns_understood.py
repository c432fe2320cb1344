"""Tariffs, upkeep, limits, logs that wait, meters, what a log left out, and the facts of a curve."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "limit_changed",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_limit_changed")),
        sa.UniqueConstraint("key", name=op.f("uq_limit_changed_key")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "kiln_task",
        sa.Column("kiln_id", sa.Integer(), nullable=False),
        sa.Column("task", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("noted_on", sa.Date(), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("due_on", sa.Date(), nullable=True),
        sa.Column("due_after_firings", sa.Integer(), nullable=True),
        sa.Column("repeat_days", sa.Integer(), nullable=True),
        sa.Column("repeat_firings", sa.Integer(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "task IN ('elements', 'thermocouple', 'relay', 'shelf_wash', 'vent', 'bricks', 'other')",
            name=op.f("ck_kiln_task_task_known"),
        ),
        sa.CheckConstraint("due_after_firings > 0", name=op.f("ck_kiln_task_firings_possible")),
        sa.CheckConstraint("repeat_days > 0", name=op.f("ck_kiln_task_again_days_possible")),
        sa.CheckConstraint("repeat_firings > 0", name=op.f("ck_kiln_task_again_firings_possible")),
        sa.ForeignKeyConstraint(
            ["kiln_id"],
            ["kiln.id"],
            name=op.f("fk_kiln_task_kiln_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kiln_task")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_kiln_task_kiln_id"), "kiln_task", ["kiln_id"], unique=False)

    op.create_table(
        "tariff",
        sa.Column("kiln_id", sa.Integer(), nullable=False),
        sa.Column("per_kwh", sa.Double(), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=True),
        sa.Column("days", sa.String(), nullable=False),
        sa.Column("starts_min", sa.Integer(), nullable=False),
        sa.Column("ends_min", sa.Integer(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "days IN ('every', 'workdays', 'weekends')", name=op.f("ck_tariff_days_known")
        ),
        sa.CheckConstraint("ends_min > 0 AND ends_min <= 1440", name=op.f("ck_tariff_end_in_day")),
        sa.CheckConstraint("per_kwh >= 0", name=op.f("ck_tariff_price_possible")),
        sa.CheckConstraint(
            "starts_min >= 0 AND starts_min < 1440", name=op.f("ck_tariff_start_in_day")
        ),
        sa.ForeignKeyConstraint(
            ["kiln_id"],
            ["kiln.id"],
            name=op.f("fk_tariff_kiln_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tariff")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_tariff_kiln_id"), "tariff", ["kiln_id"], unique=False)

    op.create_table(
        "waiting_log",
        sa.Column("log_file_id", sa.Integer(), nullable=False),
        sa.Column("came_at", sa.DateTime(), nullable=False),
        sa.Column("came_from", sa.String(), nullable=False),
        sa.Column("starts_at", sa.DateTime(), nullable=True),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("duration_s", sa.Double(), nullable=False),
        sa.Column("peak_c", sa.Double(), nullable=True),
        sa.Column("cone", sa.Double(), nullable=True),
        sa.Column("cone_low", sa.Double(), nullable=True),
        sa.Column("cone_high", sa.Double(), nullable=True),
        sa.Column("questions", sa.String(), nullable=False),
        sa.Column("written_at", sa.DateTime(), nullable=True),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.Column("set_aside", sa.Boolean(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("readings >= 0", name=op.f("ck_waiting_log_readings_counted")),
        sa.ForeignKeyConstraint(
            ["log_file_id"],
            ["log_file.id"],
            name=op.f("fk_waiting_log_log_file_id"),
            initially="IMMEDIATE",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_waiting_log")),
        sa.UniqueConstraint("log_file_id", name=op.f("uq_waiting_log_log_file_id")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "curve_fact",
        sa.Column("firing_id", sa.Integer(), nullable=False),
        sa.Column("begins_h", sa.Float(), nullable=True),
        sa.Column("heating_h", sa.Float(), nullable=True),
        sa.Column("cooling_h", sa.Float(), nullable=True),
        sa.Column("climb_min", sa.Float(), nullable=True),
        sa.Column("climb_demand", sa.Float(), nullable=True),
        sa.Column("hold_duty", sa.Float(), nullable=True),
        sa.Column("duty_h", sa.Float(), nullable=True),
        sa.Column("duty_gap_h", sa.Float(), nullable=True),
        sa.Column("above_100_h", sa.Float(), nullable=True),
        sa.Column("above_1000_h", sa.Float(), nullable=True),
        sa.Column("by_quarter", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["firing_id"],
            ["firing.id"],
            name=op.f("fk_curve_fact_firing_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("firing_id", name=op.f("pk_curve_fact")),
        sqlite_with_rowid=False,
    )
    op.add_column("curve", sa.Column("left_out", sa.LargeBinary(), nullable=True))
    # A rule that comes with a new column needs no copy of the whole table, on either database.
    number = "DOUBLE PRECISION" if op.get_bind().dialect.name == "postgresql" else "DOUBLE"
    op.execute(f"ALTER TABLE firing ADD COLUMN meter_before_kwh {number}")
    op.execute(
        f"ALTER TABLE firing ADD COLUMN meter_after_kwh {number} "
        "CONSTRAINT ck_firing_meter_forward CHECK (meter_after_kwh >= meter_before_kwh)"
    )
    op.execute(
        "ALTER TABLE firing ADD COLUMN read_every_min INTEGER "
        "CONSTRAINT ck_firing_reminder_possible CHECK (read_every_min > 0)"
    )
