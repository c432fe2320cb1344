"""The list of pieces: which answer a filter, and what a row of the list shows.

The ids of all that answer are found first, in one query without joins; rows are then read for the
few that are seen. So a list of a hundred thousand scrolls anywhere at once.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import String, cast, exists, or_, select
from sqlalchemy.orm import Session
from sqlalchemy.sql import ColumnElement

from studiolog.craft.words import FAULTS
from studiolog.journal.facts import severity_in
from studiolog.journal.letters import contains
from studiolog.journal.photos import read_pictures
from studiolog.journal.piece_page import shown_picture
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.records.clays import Clay
from studiolog.records.facts import piece_fact
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.pieces import Layer, Piece, Run
from studiolog.records.values import storable

MOST_ROWS = 500


@dataclass(frozen=True, kw_only=True)
class PieceFilter:
    """What pieces are listed. ``text`` is looked for word by word; all words must be met.

    Pieces counted under a run without a number of their own are listed only with that run, or
    with ``counted``.
    """

    text: str = ""
    stage: str | None = None
    clay_id: int | None = None
    glaze_id: int | None = None
    run_id: int | None = None
    counted: bool = False


@dataclass(frozen=True)
class GlazePart:
    """How a glaze of a combination looks."""

    name: str
    colour: str
    pattern: int


@dataclass(frozen=True)
class PieceRow:
    """A piece in the list."""

    piece_id: int
    number: int | None
    name: str
    run_number: int | None
    form_name: str
    form_shape: str
    profile: Profile | None
    clay_name: str
    clay_colour: str
    clay_specks: str
    stage: str
    zone: str
    layers: tuple[GlazePart, ...]
    """The layers of the first zone, from the clay outward."""
    other_zones: int
    cone: float | None
    cone_basis: str | None
    looked: bool
    worst_fault: str | None
    worst_severity: int
    sha256: str | None
    suffix: str
    kind: str = "ware"


@dataclass(frozen=True)
class PieceListPage:
    """Some rows of the list, how many there are in all, and where the next ones start."""

    rows: tuple[PieceRow, ...]
    total: int
    after: int | None


def find_piece_ids(
    session: Session, wanted: PieceFilter, *, after: int | None = None, limit: int | None = None
) -> tuple[int, ...]:
    """The ids of all pieces that answer, the highest number first.

    Of numbered pieces ``limit`` gives only so many, those that follow the piece ``after``; lists
    with unnumbered pieces come whole at once.
    """
    if not wanted.counted and wanted.run_id is None:
        # The order of the index on numbers: the first few cost no look at all the others.
        query = select(Piece.id).where(Piece.number.is_not(None)).order_by(Piece.number.desc())
        if after is not None:
            last = select(Piece.number).where(Piece.id == after).scalar_subquery()
            query = query.where(Piece.number < last)
        query = query.limit(limit)
    elif after is not None:
        return ()
    else:
        query = select(Piece.id).order_by(
            Piece.number.is_(None), Piece.number.desc(), Piece.id.desc()
        )
    if wanted.stage is not None:
        query = query.where(Piece.stage == wanted.stage)
    if wanted.clay_id is not None:
        query = query.where(Piece.clay_id == wanted.clay_id)
    if wanted.run_id is not None:
        query = query.where(Piece.run_id == wanted.run_id)
    if wanted.glaze_id is not None:
        query = query.where(_glazed_with([wanted.glaze_id]))
    for word in storable(wanted.text)[:500].split():
        query = query.where(_meets(session, word))
    return tuple(session.scalars(query))


def _glazed_with(glaze_ids: Sequence[int]) -> ColumnElement[bool]:
    return exists().where(Layer.piece_id == Piece.id, Layer.glaze_id.in_(glaze_ids))


def _meets(session: Session, word: str) -> ColumnElement[bool]:
    """A word is met by the number's beginning, or anywhere in title, form, clay, glaze or notes.

    "tool" is met by what is one.
    """
    found: list[ColumnElement[bool]] = [
        contains(Piece.title, word),
        contains(Piece.notes, word),
        contains(Piece.lesson, word),
        contains(Piece.next_time, word),
    ]
    if word.isdigit():
        found.append(cast(Piece.number, String).startswith(word, autoescape=True))
    if word.casefold() in ("tool", "tools"):
        found.append(Piece.kind == "tool")
    # Forms, clays and glazes are few: looked up once, so that each piece compares only ids.
    forms = session.scalars(select(Form.id).where(contains(Form.name, word)))
    clays = session.scalars(select(Clay.id).where(contains(Clay.name, word)))
    glazes = session.scalars(select(Glaze.id).where(contains(Glaze.name, word)))
    if form_ids := list(forms):
        found.append(Piece.form_id.in_(form_ids))
    if clay_ids := list(clays):
        found.append(Piece.clay_id.in_(clay_ids))
    if glaze_ids := list(glazes):
        found.append(Piece.id.in_(select(Layer.piece_id).where(Layer.glaze_id.in_(glaze_ids))))
    return or_(*found)


def list_pieces(
    session: Session,
    text: str = "",
    *,
    stage: str | None = None,
    clay_id: int | None = None,
    glaze_id: int | None = None,
    run_id: int | None = None,
    counted: bool = False,
    after: int | None = None,
    limit: int = 100,
) -> PieceListPage:
    """A page of the list. ``after`` is the piece the last page ended with."""
    ids = find_piece_ids(
        session,
        PieceFilter(
            text=text,
            stage=stage,
            clay_id=clay_id,
            glaze_id=glaze_id,
            run_id=run_id,
            counted=counted,
        ),
    )
    start = ids.index(after) + 1 if after in ids else 0
    some = ids[start : start + max(1, min(limit, MOST_ROWS))]
    more = start + len(some) < len(ids)
    return PieceListPage(read_piece_rows(session, some), len(ids), some[-1] if more else None)


def read_piece_rows(session: Session, ids: Sequence[int]) -> tuple[PieceRow, ...]:
    """The rows of these pieces, in the order asked for; pieces that are gone are left out."""
    if not ids:
        return ()
    found: dict[int, PieceRow] = {}
    layers = _zones(session, ids)
    pictures = read_pictures(session, piece_ids=ids)
    for piece, form, clay, run_number, fact in _joined(session, ids):
        zones = layers.get(piece.id, {})
        zone = _first_zone(zones)
        shown = shown_picture(pictures.get(piece.id, []))
        fault, severity = _worst(fact.severities if fact else 0)
        found[piece.id] = PieceRow(
            piece_id=piece.id,
            number=piece.number,
            name=piece.title or (form.name if form else "") or "Piece",
            run_number=run_number,
            form_name=form.name if form else "",
            form_shape=form.shape if form else "thrown",
            profile=profile_from_text(form.profile) if form else None,
            clay_name=clay.name if clay else "",
            clay_colour=clay.colour if clay else "",
            clay_specks=clay.specks if clay else "none",
            stage=piece.stage,
            zone=zone,
            layers=tuple(zones.get(zone, ())),
            other_zones=max(0, len(zones) - 1),
            cone=fact.cone10 / 10 if fact and fact.cone10 is not None else None,
            cone_basis=fact.cone_basis if fact else None,
            looked=bool(fact and fact.looked_mask),
            worst_fault=fault,
            worst_severity=severity,
            sha256=shown.sha256 if shown else None,
            suffix=shown.suffix if shown else "",
            kind=piece.kind,
        )
    return tuple(found[piece_id] for piece_id in ids if piece_id in found)


@dataclass(frozen=True)
class _Fact:
    cone10: int | None
    cone_basis: str | None
    looked_mask: int
    severities: int


def _joined(
    session: Session, ids: Sequence[int]
) -> list[tuple[Piece, Form | None, Clay | None, int | None, _Fact | None]]:
    facts = {
        row.piece_id: _Fact(row.cone10, row.cone_basis, row.looked_mask, row.severities)
        for row in session.execute(select(piece_fact).where(piece_fact.c.piece_id.in_(ids)))
    }
    rows = session.execute(
        select(Piece, Form, Clay, Run.number)
        .outerjoin(Form, Form.id == Piece.form_id)
        .outerjoin(Clay, Clay.id == Piece.clay_id)
        .outerjoin(Run, Run.id == Piece.run_id)
        .where(Piece.id.in_(ids))
    )
    return [(row[0], row[1], row[2], row[3], facts.get(row[0].id)) for row in rows]


def _zones(session: Session, ids: Sequence[int]) -> dict[int, dict[str, list[GlazePart]]]:
    found: dict[int, dict[str, list[GlazePart]]] = defaultdict(lambda: defaultdict(list))
    for piece_id, zone, name, colour, pattern in session.execute(
        select(Layer.piece_id, Layer.zone, Glaze.name, Glaze.colour, Glaze.pattern)
        .join(Glaze, Glaze.id == Layer.glaze_id)
        .where(Layer.piece_id.in_(ids))
        .order_by(Layer.position, Layer.id)
    ):
        found[piece_id][zone].append(GlazePart(name, colour, pattern))
    return found


def _first_zone(zones: dict[str, list[GlazePart]]) -> str:
    """The zone that tells most of the piece: the outside, where most layers lie."""
    if not zones:
        return ""
    return max(zones, key=lambda zone: (zone.lower().startswith("outside"), len(zones[zone])))


def _worst(severities: int) -> tuple[str | None, int]:
    worst: tuple[str | None, int] = (None, 0)
    for fault in FAULTS:
        severity = severity_in(severities, fault)
        if severity > worst[1]:
            worst = (fault, severity)
    return worst
