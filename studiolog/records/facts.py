"""Searchable facts: derived from the records in the same transaction, and rebuilt at will.

They are plain tables, outside the history: the same records always give the same facts.
"""

from sqlalchemy import Column, Date, Float, ForeignKey, Index, Integer, String, Table

from studiolog.records.base import Record

NO_CLAY = 0
NO_CONE = -1000
"""What stands in `pair_fact` where the clay or the cone of a piece is not known: its key sorts the
rows by clay and cone, so that a question reads just the rows that answer it, and a key can't be
empty."""

level_heat = Table(
    "level_heat",
    Record.metadata,
    Column(
        "firing_id",
        ForeignKey("firing.id", deferrable=True, initially="DEFERRED"),
        primary_key=True,
    ),
    Column(
        "level_id", Integer, primary_key=True
    ),  # 0: the kiln as a whole, where no level is known
    Column("cone", Float, nullable=False),
    Column("cone_low", Float, nullable=False),
    Column("cone_high", Float, nullable=False),
    Column("basis", String, nullable=False),
    sqlite_with_rowid=False,
)
"""The cone each level of a firing really got, best basis first."""

curve_fact = Table(
    "curve_fact",
    Record.metadata,
    Column(
        "firing_id",
        ForeignKey("firing.id", deferrable=True, initially="DEFERRED"),
        primary_key=True,
    ),
    Column("begins_h", Float),  # from the log's start until the kiln begins to heat
    Column("heating_h", Float),  # from there until the top is left
    Column("cooling_h", Float),  # under power after that, where the duty was logged
    Column("climb_min", Float),  # from 1000 to 1150 °C, going up
    Column("climb_demand", Float),  # mean share of full power on that way, where it was logged
    Column("hold_duty", Float),  # mean share of full power while the top was held
    Column("duty_h", Float),  # hours of full power that the logged duty amounts to
    Column("duty_gap_h", Float),  # of the log, silences over which the duty was joined
    Column("above_100_h", Float),  # how long it was hotter than that, cooling included
    Column("above_1000_h", Float),
    Column("by_quarter", String),  # seconds of full power by quarter hour of the wall clock
    sqlite_with_rowid=False,
)
"""What the main curve of a firing says of the kiln; wear and energy are told from it."""

piece_fact = Table(
    "piece_fact",
    Record.metadata,
    Column(
        "piece_id", ForeignKey("piece.id", deferrable=True, initially="DEFERRED"), primary_key=True
    ),
    Column("clay_id", Integer),
    Column("form_id", Integer),
    Column("firing_id", Integer),
    Column("level_id", Integer),
    Column("atmosphere", String),
    Column("fired_on", Date),
    Column("cone10", Integer),
    Column("cone_low", Float),
    Column("cone_high", Float),
    Column("cone_basis", String),
    Column("looked_mask", Integer, nullable=False),
    Column("seen_mask", Integer, nullable=False),
    Column("severities", Integer, nullable=False),  # two bits a fault, worst ever seen
    Column("surfaces", Integer, nullable=False, server_default="0"),  # a bit a word ever said
    Index("ix_piece_fact_clay", "clay_id", "cone10"),
    Index("ix_piece_fact_firing", "firing_id", "level_id"),
)
"""One row a piece: clay, the hottest glaze firing's cone there with its basis, faults."""

path_fact = Table(
    "path_fact",
    Record.metadata,
    Column(
        "piece_id", ForeignKey("piece.id", deferrable=True, initially="DEFERRED"), primary_key=True
    ),
    Column("zone", String, primary_key=True),
    Column("path", String, nullable=False),  # glaze ids from the clay outward, as "|3|12|"
    Column("methods", String, nullable=False),  # "|dip|brush|"
    Column("clay_id", Integer),
    Column("cone10", Integer),
    Column("looked_mask", Integer, nullable=False),
    Column("seen_mask", Integer, nullable=False),
    Column("severities", Integer, nullable=False),
    Column("surfaces", Integer, nullable=False, server_default="0"),
    sqlite_with_rowid=False,
)
"""One row a glazed zone: the layers in order, the faults and surface words that speak of it."""

pair_fact = Table(
    "pair_fact",
    Record.metadata,
    Column("over_id", Integer, primary_key=True),
    Column("under_id", Integer, primary_key=True),  # 0: the clay itself, nothing under
    Column("clay_id", Integer, primary_key=True),  # NO_CLAY where it was not noted
    Column("cone10", Integer, primary_key=True),  # NO_CONE where it is not known
    Column(
        "piece_id", ForeignKey("piece.id", deferrable=True, initially="DEFERRED"), primary_key=True
    ),
    Column("zone", String, primary_key=True),
    Column("alone", Integer, nullable=False),  # 1: the zone has this one glaze and no other
    Column("looked_mask", Integer, nullable=False),
    Column("seen_mask", Integer, nullable=False),
    Column("severities", Integer, nullable=False),
    Column("surfaces", Integer, nullable=False, server_default="0"),
    Index("ix_pair_fact_piece", "piece_id"),
    sqlite_with_rowid=False,
)
"""One row for each glaze lying directly on another (or on the clay) in a zone of a piece."""

FACT_TABLES = (level_heat, curve_fact, piece_fact, path_fact, pair_fact)
