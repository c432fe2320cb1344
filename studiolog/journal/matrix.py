"""The matrix of a question: which glaze over which, against clay, cone or level.

Each cell says how many pieces were inspected for the fault, on how many it was seen, and how far
so few can be trusted. A piece counts once in a cell, whatever zones of it belong there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, Literal

from sqlalchemy import ColumnElement, and_, case, func, or_, select, true
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import Rate, rate_of
from studiolog.craft.firing.cones import say_band
from studiolog.journal.finding import Hit, read_hits
from studiolog.journal.finding_chemistry import put_to
from studiolog.journal.finding_scope import (
    Scope,
    clay_in,
    cone_band,
    is_described,
    scope_of,
    shows_surface,
)
from studiolog.journal.glazes import title_of
from studiolog.journal.question import Question
from studiolog.journal.rate_counts import bands_of, fact_fields
from studiolog.journal.tables import table
from studiolog.journal.tally import (
    UNKNOWN,
    Field,
    highest_id,
    read_columns,
    seen_marks,
    tally,
)
from studiolog.records.facts import NO_CLAY, pair_fact, piece_fact

if TYPE_CHECKING:
    from studiolog.journal.tally import Ints

Columns = Literal["clay", "cone", "level"]
Rows = Literal["over", "alone+over"]

_FEWEST_ROWS: Final = 4  # glazes paired up to suggest a first test in an empty journal


@dataclass(frozen=True)
class GlazeHead:
    """A glaze as a row head draws it."""

    glaze_id: int
    title: str
    colour: str
    pattern: int


@dataclass(frozen=True)
class MatrixRow:
    """One glaze over another, or (``under`` None) one glaze alone.

    ``compared`` rows stand below a line: they are not what was asked, but what it is held against.
    """

    over: GlazeHead
    under: GlazeHead | None
    compared: bool = False

    @property
    def key(self) -> tuple[int, int]:
        return self.over.glaze_id, self.under.glaze_id if self.under else 0

    @property
    def title(self) -> str:
        return f"{self.over.title} over {self.under.title}" if self.under else self.over.title


@dataclass(frozen=True)
class MatrixColumn:
    """A clay, a half-cone band, or a level. ``key`` None: not noted, or not known."""

    key: int | str | None
    title: str
    colour: str = ""
    specks: str = "none"


@dataclass(frozen=True)
class MatrixCell:
    """``pieces`` belong here; ``rate`` is over those that were inspected for the fault."""

    pieces: int = 0
    rate: Rate = field(default_factory=lambda: rate_of(0, 0))

    @property
    def tried(self) -> bool:
        return self.pieces > 0


@dataclass(frozen=True)
class Matrix:
    """Rows by columns of cells, and by what the columns are cut."""

    by: Columns
    rows: tuple[MatrixRow, ...]
    columns: tuple[MatrixColumn, ...]
    cells: tuple[tuple[MatrixCell, ...], ...]
    suggested: bool = False  # nothing was tried yet: rows are what could be

    def cell(self, row: int, column: int) -> MatrixCell:
        return self.cells[row][column]

    def never_tried(self) -> tuple[tuple[int, int], ...]:
        """Row and column of each cell nobody has tried, those most like what was tried first.

        Columns that say "not known" stay out.
        """
        never = [
            (row, column)
            for row, line in enumerate(self.cells)
            for column, cell in enumerate(line)
            if not cell.tried and self.columns[column].key is not None
        ]
        tried = [sum(cell.pieces for cell in line) for line in self.cells]
        return tuple(sorted(never, key=lambda at: (-tried[at[0]], at)))


def read_matrix(
    session: Session,
    question: Question,
    rows: Rows = "alone+over",
    columns: Columns = "clay",
) -> Matrix:
    """The matrix of a question. Its combination says which rows, not which pieces."""
    question = put_to(session, question)
    found = _count_cells(session, question, rows, columns)
    glazes = _glaze_heads(session, question)
    tried: dict[tuple[int, int], int] = defaultdict(int)
    for (row, _), cell in found.items():
        tried[row] += cell.pieces
    heads = _rows(question, rows, tried, glazes)
    suggested = not heads
    if suggested:
        heads = _suggested_rows(session, glazes)
    cut = _columns(session, columns, {at for _, at in found}, question)
    cells = tuple(
        tuple(found.get((head.key, column.key), MatrixCell()) for column in cut) for head in heads
    )
    return Matrix(columns, heads, cut, cells, suggested)


def _count_cells(
    session: Session, question: Question, rows: Rows, columns: Columns
) -> dict[tuple[tuple[int, int], Any], MatrixCell]:
    """The cells that hold a piece, by row and column."""
    scope = scope_of(question, facts=pair_fact).narrowed(_row_filter(question, rows))
    glazes = highest_id(session, "glaze")
    levels = _level_keys(session) if columns == "level" else {}
    place: tuple[Field, ...] = ()
    if levels:
        scope = scope.narrowed(needs_piece=True)
        place = (Field(piece_fact.c.level_id, 0, max(levels)),)
    if question.asks_surface():
        place = (*_surface_fields(question.surfaces), *place)
    over, under, clay, cone10, piece, looked, severities, *level = read_columns(
        session,
        scope.select(pair_fact.c.piece_id),
        (
            Field(pair_fact.c.over_id, 0, glazes),
            Field(pair_fact.c.under_id, 0, glazes),
            *fact_fields(session, pair_fact),
            *place,
        ),
    )
    seen = seen_marks(severities, question.severity)
    if question.asks_surface():
        looked, seen, *level = level
    cut, heads = _cut_of(columns, levels, clay, cone10, level)
    counted = tally((over, under, cut), piece, looked, seen)
    fault = question.fault
    inspected = counted.inspected_for(fault) if fault else counted.inspected_at_all()
    bad = counted.seen_on(fault) if fault else counted.any_seen()
    lines = (*counted.keys, counted.pieces, inspected, bad)
    return {
        ((above, below), heads.get(at, at)): MatrixCell(pieces, rate_of(events, trials))
        for above, below, at, pieces, trials, events in zip(
            *(line.tolist() for line in lines), strict=True
        )
    }


def _surface_fields(words: Sequence[str]) -> tuple[Field, Field]:
    """Whether the surface of a zone was described, and whether it was so, as marks of one bit."""
    told = case((is_described(pair_fact.c.surfaces, words), 1), else_=0)
    so = case((shows_surface(pair_fact.c.surfaces, words), 1), else_=0)
    return Field(told, 0, 1), Field(so, 0, 1)


def _level_keys(session: Session) -> dict[int, str | None]:
    """What each level is told apart by: its name, which several kilns may have. 0: not noted."""
    level = table("kiln_level")
    rows = session.execute(select(level.c.id, func.lower(func.trim(level.c.name))))
    return {0: None, **{row[0]: row[1] for row in rows}}


def _cut_of(
    columns: Columns, levels: Mapping[int, str | None], clay: Ints, cone10: Ints, level: list[Ints]
) -> tuple[Ints, dict[int, Any]]:
    """Each row's column as a number, and the keys of those numbers that are not keys themselves."""
    import numpy as np

    if columns == "clay":
        return clay, {NO_CLAY: None}
    if columns == "cone":
        return bands_of(cone10), {UNKNOWN: None}
    keys = list(dict.fromkeys(levels.values()))
    of_level = np.zeros(max(levels) + 1, dtype=np.int64)
    for level_id, key in levels.items():
        of_level[level_id] = keys.index(key)
    return of_level[level[0]], dict(enumerate(keys))


def cell_pieces(
    session: Session,
    question: Question,
    row: tuple[int, int],
    columns: Columns,
    column: int | str | None,
) -> tuple[Hit, ...]:
    """Every piece of one cell, worst first, those nobody inspected last: its evidence."""
    question = put_to(session, question)
    key = _column_key(columns)
    at = key.is_(None) if column is None else key == column
    scope = _scope(question, columns).narrowed(_is_row(row), at)
    return read_hits(session, question, scope)


def _scope(question: Question, columns: Columns) -> Scope:
    scope = scope_of(question, facts=pair_fact)
    return scope.narrowed(needs_level=True) if columns == "level" else scope


def _column_key(columns: Columns) -> ColumnElement[Any]:
    if columns == "clay":
        return clay_in(pair_fact)
    if columns == "cone":
        return cone_band(pair_fact)
    return func.lower(func.trim(table("kiln_level").c.name))


def _is_row(row: tuple[int, int]) -> ColumnElement[bool]:
    over, under = row
    same = and_(pair_fact.c.over_id == over, pair_fact.c.under_id == under)
    return and_(same, pair_fact.c.alone == 1) if under == 0 else same


def _row_filter(question: Question, rows: Rows) -> ColumnElement[bool]:
    pair = and_(pair_fact.c.under_id != 0, pair_fact.c.under_id != pair_fact.c.over_id)
    kept: ColumnElement[bool] = pair
    if rows == "alone+over":
        kept = or_(pair, pair_fact.c.alone == 1)
    asked = question.combination
    if asked is None or asked.kind == "overlap":
        return kept
    named = [asked.glaze_id] + ([asked.under_id] if asked.kind == "over" else [])
    if asked.kind == "anywhere":
        about = or_(pair_fact.c.over_id.in_(named), pair_fact.c.under_id.in_(named))
        return and_(kept, about)
    if asked.kind == "only":
        return _is_row((asked.glaze_id, 0))
    # Asked of one order: the other order and each glaze alone are what it is held against.
    both = and_(pair_fact.c.over_id.in_(named), pair_fact.c.under_id.in_((*named, 0)))
    if asked.glaze_id == asked.under_id:
        return or_(_is_row((asked.glaze_id, asked.glaze_id)), _is_row((asked.glaze_id, 0)))
    return and_(kept, both)


def _glaze_heads(session: Session, question: Question) -> dict[int, GlazeHead]:
    """The glazes that may have a row; those of single test tiles only where they are asked for."""
    glaze = table("glaze")
    asked = question.combination
    named = [asked.glaze_id, asked.under_id] if asked is not None else []
    wanted = or_(glaze.c.trial.is_(False), glaze.c.id.in_([one for one in named if one]))
    return {
        row.id: GlazeHead(row.id, title_of(row.name, row.version_number), row.colour, row.pattern)
        for row in session.execute(
            select(
                glaze.c.id, glaze.c.name, glaze.c.version_number, glaze.c.colour, glaze.c.pattern
            )
            # A question about formulas asks for just such tiles.
            .where(wanted if not question.chemistry else true())
            .order_by(glaze.c.id)
        )
    }


def _rows(
    question: Question,
    rows: Rows,
    found: Mapping[tuple[int, int], int],
    glazes: Mapping[int, GlazeHead],
) -> tuple[MatrixRow, ...]:
    """Pairs with their other order beside them, and single glazes.

    Single glazes stand first, or where an overlap is asked about, last, to compare with.
    ``found`` counts the pieces of each row.
    """
    pairs = {(over, under) for over, under in found if under}
    asked = question.combination
    if asked is not None and asked.kind == "over":
        pairs.add((asked.glaze_id, asked.under_id))
    pairs |= {(under, over) for over, under in pairs}
    alone = {over for over, under in found if not under}
    alone_asked = asked is not None and asked.kind in ("only", "anywhere")
    if asked is not None and asked.kind == "only":
        alone.add(asked.glaze_id)

    def pair_order(pair: tuple[int, int]) -> tuple[Any, ...]:
        """Most tried first, an order and its other side by side, the one asked for on top."""
        first, second = sorted(pair)
        together = found.get((first, second), 0) + found.get((second, first), 0)
        wanted = asked is not None and asked.kind == "over" and pair[0] == asked.glaze_id
        return (-together, first, second, not wanted, -found.get(pair, 0), pair)

    heads = [
        MatrixRow(
            glazes[over],
            glazes[under],
            asked is not None
            and asked.kind == "over"
            and (over, under) != (asked.glaze_id, asked.under_id),
        )
        for over, under in sorted(pairs, key=pair_order)
        if over in glazes and under in glazes
    ]
    if rows == "over" and not alone_asked:
        return tuple(heads)
    compared = asked is not None and not alone_asked
    singles = [
        MatrixRow(glazes[one], None, compared)
        for one in sorted(alone, key=lambda one: (-found.get((one, 0), 0), one))
        if one in glazes
    ]
    return tuple((*heads, *singles) if compared else (*singles, *heads))


def _suggested_rows(session: Session, glazes: dict[int, GlazeHead]) -> tuple[MatrixRow, ...]:
    """What could be tried first, where nothing was: each glaze alone, then the first few paired."""
    glaze = table("glaze")
    kept = set(session.execute(select(glaze.c.id).where(glaze.c.archived.is_(False))).scalars())
    heads = [head for head in glazes.values() if head.glaze_id in kept]
    few = heads[:_FEWEST_ROWS]
    pairs = [MatrixRow(over, under) for place, under in enumerate(few) for over in few[place + 1 :]]
    return (*(MatrixRow(head, None) for head in heads), *pairs)


def _columns(
    session: Session, columns: Columns, found: set[Any], question: Question
) -> tuple[MatrixColumn, ...]:
    if columns == "clay":
        return _clay_columns(session, found, question)
    if columns == "cone":
        known = _gapless(band for band in found if band is not None)
        cut = [MatrixColumn(band, say_band(band)) for band in known]
        unknown = "no cone known"
    else:
        cut = _level_columns(session, found)
        unknown = "level not noted"
    if None in found or not cut:
        cut.append(MatrixColumn(None, unknown))
    return tuple(cut)


def _gapless(bands: Iterable[int]) -> list[int]:
    """Every half cone from the coolest to the hottest, so that what was left out is seen.

    Stretches nobody fired to (between earthenware and stoneware) stay out.
    """
    present = sorted(set(bands))
    cut: list[int] = []
    for band in present:
        if cut and 1 < band - cut[-1] <= 6:
            cut += range(cut[-1] + 1, band)
        cut.append(band)
    return cut


def _clay_columns(
    session: Session, found: set[Any], question: Question
) -> tuple[MatrixColumn, ...]:
    clay = table("clay")
    rows = session.execute(
        select(clay.c.id, clay.c.name, clay.c.colour, clay.c.specks, clay.c.archived).order_by(
            clay.c.id
        )
    ).all()
    asked = question.clay_id
    cut = [
        MatrixColumn(row.id, row.name, row.colour, row.specks)
        for row in rows
        if row.id in found or row.id == asked or (asked is None and not row.archived)
    ]
    if None in found or not cut:
        cut.append(MatrixColumn(None, "clay not noted"))
    return tuple(cut)


def _level_columns(session: Session, found: set[Any]) -> list[MatrixColumn]:
    level, kiln = table("kiln_level"), table("kiln")
    names: Sequence[str] = (
        session.execute(
            select(level.c.name)
            .join(kiln, kiln.c.id == level.c.kiln_id)
            .order_by(level.c.position, level.c.id)
        )
        .scalars()
        .all()
    )
    cut: dict[str, MatrixColumn] = {}
    for name in names:
        key = name.strip().lower()
        if key in found:
            cut.setdefault(key, MatrixColumn(key, name.strip()))
    return list(cut.values())
