"""Work on the pieces of a run by the count: steps, zones glazed one after the other, and covers."""

from collections.abc import Collection, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, exists, func, or_, select, true
from sqlalchemy.orm import Session

from studiolog.craft.glaze.layering import zones_meet
from studiolog.craft.words import STAGES
from studiolog.journal.counted_pieces import choose_pieces
from studiolog.journal.covers import cover_run, read_covers
from studiolog.journal.layer_words import WordedLayer
from studiolog.journal.pieces import log_step, move_to_stage
from studiolog.journal.waiting_for import same_work, zones_bare
from studiolog.journal.writing import add, get
from studiolog.problems import UserProblem
from studiolog.records.forms import FormZone
from studiolog.records.glazes import Glaze
from studiolog.records.pieces import Layer, Piece, Run, Step


def log_steps(
    session: Session,
    run_id: int,
    name: str,
    stage: str,
    how_many: int,
    done_on: date,
    minutes: float | None = None,
    zone: str = "",
    rework: bool = False,
) -> tuple[int, ...]:
    """Log work done to so many counted pieces at a stage; returns their ids.

    ``minutes`` are those of one piece. Those without it are taken first; work done over again
    (``rework``) goes to those that have it. Raises `UserProblem` where fewer lack it, so that
    nothing is done twice by a slip.
    """
    if zone and same_work(name, "glazed"):
        done = _has_zone(session, run_id, zone)
        # Those with most zones glazed are finished first.
        orders: list[Any] = [_zones_glazed().desc()]
    else:
        done = has_step(session, run_id, name)
        orders = []
    orders.insert(0, ~done if rework else done)
    chosen = choose_pieces(session, run_id, stage, how_many, unlike=orders)
    if not rework:
        have = set(
            session.scalars(
                select(Piece.id).where(Piece.id.in_([piece.id for piece in chosen]), done)
            )
        )
        if have:
            lacking = how_many - len(have)
            part = f"{zone} {name}" if zone else name
            sentence = (
                f"Only {lacking or 'none'} of the pieces {STAGES[stage]} "
                f"{'is' if lacking == 1 else 'are'} not {part} yet. "
                f"Work done over is logged as “{name} again”."
            )
            raise UserProblem(sentence, {"how_many": sentence})
    for piece in chosen:
        log_step(session, piece.id, name, done_on, minutes, zone=zone, rework=rework)
    return tuple(piece.id for piece in chosen)


def lay_on_zone(
    session: Session, piece_ids: Collection[int], zone: str, layers: Sequence[WordedLayer]
) -> None:
    """Lay these layers on a zone of each piece, over what is there already.

    Raises `UserProblem` for a glaze that is gone.
    """
    for piece_id in piece_ids:
        there = session.scalars(select(Layer.zone).where(Layer.piece_id == piece_id)).all()
        lain = sum(zones_meet(zone, before) for before in there)
        for place, layer in enumerate(layers, lain + 1):
            if session.get(Glaze, layer.glaze_id) is None:
                raise UserProblem("This glaze is no longer in the journal: it was deleted.")
            add(
                session,
                Layer(
                    piece_id=piece_id, zone=zone, position=place, glaze_id=layer.glaze_id,
                    method=layer.method, coats=layer.coats, seconds=layer.seconds,
                ),
            )  # fmt: skip


def move_on_glazed(
    session: Session, run_id: int, piece_ids: Collection[int], at: datetime
) -> tuple[int, ...]:
    """Those of the pieces that have glaze on every zone of their form go on to glazed."""
    run = get(session, Run, run_id)
    zones = (
        session.scalars(select(FormZone.name).where(FormZone.form_id == run.form_id)).all()
        if run.form_id is not None
        else ()
    )
    if not zones:
        return ()
    moved = []
    for piece_id in piece_ids:
        piece = get(session, Piece, piece_id)
        if piece.stage == "bisque" and not zones_bare(zones, _zones_of(session, piece_id)):
            move_to_stage(session, piece_id, "glazed", at)
            moved.append(piece_id)
    return tuple(moved)


def wrap_run(session: Session, run_id: int, cover: str, at: datetime, weather: str = "") -> int:
    """The run stands like this from now on; the weather stays as it was unless it is said."""
    if not weather:
        known = read_covers(session, [run_id]).get(run_id, ())
        weather = known[-1].weather if known else "usual"
    return cover_run(session, run_id, cover, at, weather)


def _steps_meant(session: Session, run_id: int, name: str) -> list[str]:
    """The names under which the run has the work ``name``: "trimmed" is "turned" too."""
    said = session.scalars(
        select(Step.name).distinct().join(Piece, Piece.id == Step.piece_id).where(
            Piece.run_id == run_id
        )
    )  # fmt: skip
    return [one for one in said if same_work(one, name)]


def has_step(session: Session, run_id: int, name: str) -> ColumnElement[bool]:
    """Whether a piece of the run has had this work, under whatever name it was logged."""
    glazing = same_work(name, "glazed")
    return exists().where(
        Step.piece_id == Piece.id,
        Step.name.in_(_steps_meant(session, run_id, name) or [name]),
        Step.zone == "" if glazing else true(),
    )


def _has_zone(session: Session, run_id: int, zone: str) -> ColumnElement[bool]:
    """Whether a piece has glaze on a zone, by its steps or by its layers."""
    of_run = select(Piece.id).where(Piece.run_id == run_id)
    stepped = session.execute(
        select(Step.name, Step.zone).distinct().where(Step.piece_id.in_(of_run), Step.zone != "")
    ).all()
    laid = session.scalars(select(Layer.zone).distinct().where(Layer.piece_id.in_(of_run)))
    zones = {said for name, said in stepped if same_work(name, "glazed")} | set(laid)
    meant = [said for said in zones if not zones_bare([zone], [said])] or [zone]
    names = [name for name, _ in stepped if same_work(name, "glazed")] or ["glazed"]
    return or_(
        exists().where(Step.piece_id == Piece.id, Step.name.in_(names), Step.zone.in_(meant)),
        exists().where(Layer.piece_id == Piece.id, Layer.zone.in_(meant)),
    )


def _zones_glazed() -> Any:
    """How many zones of a piece were named as glazed or have a layer."""
    stepped = (
        select(func.count(func.distinct(Step.zone)))
        .where(Step.piece_id == Piece.id, Step.zone != "")
        .correlate(Piece)
    )
    laid = (
        select(func.count(func.distinct(Layer.zone)))
        .where(Layer.piece_id == Piece.id)
        .correlate(Piece)
    )
    return stepped.scalar_subquery() + laid.scalar_subquery()


def _zones_of(session: Session, piece_id: int) -> set[str]:
    stepped = session.execute(
        select(Step.name, Step.zone).where(Step.piece_id == piece_id, Step.zone != "")
    )
    zones = {zone for name, zone in stepped if same_work(name, "glazed")}
    return zones | set(session.scalars(select(Layer.zone).where(Layer.piece_id == piece_id)))
