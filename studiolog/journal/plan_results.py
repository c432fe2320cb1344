"""The pieces of a plan: which plan they are of, and what came of them."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.words import SURFACES, faults_in
from studiolog.journal.facts import severity_in
from studiolog.journal.photos import PictureLine, read_pictures
from studiolog.records.facts import piece_fact
from studiolog.records.firings import Firing
from studiolog.records.inspections import Inspection, SurfaceReading
from studiolog.records.pieces import Piece
from studiolog.records.plans import PlanTile, TestPlan

_AFTER_FIRING = ("fired", "later")


@dataclass(frozen=True, kw_only=True)
class TileResult:
    """What came of a tile's piece; all of it empty while there is none.

    ``cone`` is what its place in the kiln got, on the ordinal scale, with its basis. ``picture`` is
    the newest after firing, ``raw_picture`` the newest before. ``seen`` has the worst severity of
    each fault that was looked for and seen; ``surface`` are keys of surface words. ``note`` is that
    of the last inspection that has one.
    """

    piece_id: int | None = None
    piece_number: int | None = None
    stage: str = ""
    lost_why: str = ""
    firing_id: int | None = None
    firing_number: int | None = None
    cone: float | None = None
    cone_basis: str = ""
    picture: str | None = None
    picture_suffix: str = ""
    raw_picture: str | None = None
    raw_picture_suffix: str = ""
    looked_at: bool = False
    looked: tuple[str, ...] = ()
    seen: tuple[tuple[str, int], ...] = ()
    surface: tuple[str, ...] = ()
    note: str = ""
    lesson: str = ""


NOTHING_YET = TileResult()


@dataclass(frozen=True)
class PlanPlace:
    """The plan whose tile a piece is, and what its tile was to get."""

    plan_id: int
    code: str
    name: str
    words: str


def read_plan_place(session: Session, piece_id: int) -> PlanPlace | None:
    """The plan of a piece; None for one that was made for none."""
    row = session.execute(
        select(TestPlan.id, TestPlan.code, TestPlan.name, PlanTile.words)
        .join(PlanTile, PlanTile.plan_id == TestPlan.id)
        .where(PlanTile.piece_id == piece_id)
    ).one_or_none()
    return PlanPlace(*row) if row is not None else None


def read_results(session: Session, piece_ids: Collection[int]) -> dict[int, TileResult]:
    """What came of each piece; five queries, however many pieces."""
    if not piece_ids:
        return {}
    facts = {
        row.piece_id: row
        for row in session.execute(
            select(
                piece_fact.c.piece_id,
                piece_fact.c.firing_id,
                piece_fact.c.cone10,
                piece_fact.c.cone_basis,
                piece_fact.c.looked_mask,
                piece_fact.c.seen_mask,
                piece_fact.c.severities,
                Firing.number,
            )
            .outerjoin(Firing, Firing.id == piece_fact.c.firing_id)
            .where(piece_fact.c.piece_id.in_(piece_ids))
        )
    }
    pictures = read_pictures(session, piece_ids=list(piece_ids))
    notes = _notes(session, piece_ids)
    surfaces = _surfaces(session, piece_ids)
    found = {}
    for piece in session.scalars(select(Piece).where(Piece.id.in_(piece_ids))):
        fact = facts.get(piece.id)
        lines = pictures.get(piece.id, [])
        fired = _newest([line for line in lines if line.moment in _AFTER_FIRING])
        raw = _newest([line for line in lines if line.moment not in _AFTER_FIRING])
        seen = faults_in(fact.seen_mask) if fact is not None else ()
        found[piece.id] = TileResult(
            piece_id=piece.id,
            piece_number=piece.number,
            stage=piece.stage,
            lost_why=piece.lost_why,
            firing_id=fact.firing_id if fact is not None else None,
            firing_number=fact.number if fact is not None else None,
            cone=fact.cone10 / 10.0 if fact is not None and fact.cone10 is not None else None,
            cone_basis=(fact.cone_basis or "") if fact is not None else "",
            picture=fired.sha256 if fired is not None else None,
            picture_suffix=fired.suffix if fired is not None else "",
            raw_picture=raw.sha256 if raw is not None else None,
            raw_picture_suffix=raw.suffix if raw is not None else "",
            looked_at=piece.id in notes,
            looked=faults_in(fact.looked_mask) if fact is not None else (),
            seen=tuple((fault, severity_in(fact.severities, fault)) for fault in seen)
            if fact is not None
            else (),
            surface=surfaces.get(piece.id, ()),
            note=notes.get(piece.id, ""),
            lesson=piece.lesson,
        )
    return found


def _newest(lines: Sequence[PictureLine]) -> PictureLine | None:
    """The last: they come in order of moment and time."""
    return lines[-1] if lines else None


def _notes(session: Session, piece_ids: Collection[int]) -> dict[int, str]:
    """The note of the last inspection that has one, for every piece that was looked at."""
    found: dict[int, str] = {}
    for row in session.execute(
        select(Inspection.piece_id, Inspection.note)
        .where(Inspection.piece_id.in_(piece_ids))
        .order_by(Inspection.looked_on, Inspection.id)
    ):
        found[row.piece_id] = row.note or found.get(row.piece_id, "")
    return found


def _surfaces(session: Session, piece_ids: Collection[int]) -> dict[int, tuple[str, ...]]:
    """The words of the last inspection that has any, in the order of the word list."""
    said: dict[int, dict[tuple[object, int], set[str]]] = defaultdict(lambda: defaultdict(set))
    for row in session.execute(
        select(Inspection.piece_id, Inspection.looked_on, Inspection.id, SurfaceReading.word)
        .join(SurfaceReading, SurfaceReading.inspection_id == Inspection.id)
        .where(Inspection.piece_id.in_(piece_ids))
        .order_by(Inspection.looked_on, Inspection.id)
    ):
        said[row.piece_id][row.looked_on, row.id].add(row.word)
    return {
        piece_id: tuple(word for word in SURFACES if word in list(some.values())[-1])
        for piece_id, some in said.items()
    }
