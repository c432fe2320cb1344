"""What a sheet shows of a piece that is in the journal."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.words import FAULTS
from studiolog.journal.inspections import FaultDraft, SurfaceDraft
from studiolog.journal.layer_words import WordedLayer
from studiolog.journal.photos import PictureLine, read_pictures
from studiolog.journal.pieces import SizeDraft
from studiolog.journal.sheet_page import EarlierLook, SheetDraft
from studiolog.journal.surfaces import surfaces_by_inspection
from studiolog.journal.writing import get
from studiolog.records.firings import Firing
from studiolog.records.inspections import FaultReading, Inspection
from studiolog.records.pieces import Layer, Measurement, Piece, Placement, StageChange


@dataclass(frozen=True)
class StoredPiece:
    """What the journal holds of a piece, as far as a sheet shows it."""

    draft: SheetDraft
    title: str = ""
    stage: str | None = None
    stages: tuple[tuple[datetime, str], ...] = ()
    wall_mm: float | None = None
    pictures: tuple[PictureLine, ...] = ()
    earlier: tuple[EarlierLook, ...] = ()
    fault_rows: tuple[tuple[str, str], ...] = ()
    other_firings: tuple[int, ...] = ()


def read_stored(session: Session, piece_id: int, today: date) -> StoredPiece:
    """Read a piece; an inspection of ``today`` is carried on, earlier ones only shown."""
    piece = get(session, Piece, piece_id)
    layers = read_layer_rows(session, piece_id)
    places = session.execute(
        select(Placement, Firing)
        .join(Firing, Firing.id == Placement.firing_id)
        .where(Placement.piece_id == piece_id)
        .order_by(Firing.kind == "bisque", Firing.started_at.desc(), Firing.id.desc())
    ).all()
    stages = session.scalars(
        select(StageChange).where(StageChange.piece_id == piece_id).order_by(StageChange.at)
    )
    shown = places[0][0] if places else None
    looks: Sequence[tuple[Inspection, FaultReading | None]] = session.execute(
        select(Inspection, FaultReading)
        .outerjoin(FaultReading, FaultReading.inspection_id == Inspection.id)
        .where(Inspection.piece_id == piece_id)
        .order_by(Inspection.looked_on, Inspection.id, FaultReading.id)
    ).all()
    todays = [inspection for inspection, _ in looks if inspection.looked_on == today]
    carried_on = todays[-1].id if todays else None
    faults: list[FaultDraft] = []
    earlier: dict[tuple[str, str], EarlierLook] = {}
    for inspection, reading in looks:
        if reading is None:  # an inspection that looked for nothing by name
            continue
        if inspection.id == carried_on:
            faults.append(FaultDraft(reading.fault, reading.severity, reading.zone, reading.note))
        else:
            earlier[reading.fault, reading.zone] = EarlierLook(
                reading.fault, reading.zone, reading.severity, inspection.looked_on
            )
    size, wall_mm = _read_size(session, piece_id, piece.stage)
    draft = SheetDraft(
        piece_id=piece_id,
        version=piece.version,
        number=piece.number,
        run_id=piece.run_id,
        form_id=piece.form_id,
        clay_id=piece.clay_id,
        height_mm=size.height_mm,
        across_mm=size.across_mm,
        mass_g=size.mass_g,
        size_stage=size.stage,
        layers=tuple(_worded(layer) for layer in layers),
        firing_id=shown.firing_id if shown else None,
        level_id=shown.level_id if shown else None,
        placed_in=shown.firing_id if shown else None,
        looked_on=today,
        inspection_id=carried_on,
        faults=tuple(faults),
        surfaces=tuple(
            SurfaceDraft(one.word, one.zone)
            for one in (surfaces_by_inspection(session, piece_id).get(carried_on, ()))
        )
        if carried_on is not None
        else (),
        next_time=piece.next_time,
    )
    known = {(fault.fault, fault.zone) for fault in faults} | set(earlier)
    order = list(FAULTS)
    return StoredPiece(
        draft,
        piece.title,
        piece.stage,
        tuple((line.at, line.stage) for line in stages),
        wall_mm,
        tuple(read_pictures(session, piece_ids=[piece_id]).get(piece_id, ())),
        tuple(earlier.values()),
        tuple(sorted(known, key=lambda row: (order.index(row[0]), row[1]))),
        tuple(firing.number for _, firing in places[1:]),
    )


def read_layer_rows(session: Session, piece_id: int) -> Sequence[Layer]:
    """The layers of a piece in the order they went on."""
    # Layers are written in the order they went on, across zones too, so their ids keep it.
    return session.scalars(select(Layer).where(Layer.piece_id == piece_id).order_by(Layer.id)).all()


def _worded(layer: Layer) -> WordedLayer:
    return WordedLayer(layer.glaze_id, layer.zone, layer.method, layer.seconds, layer.coats)


def _read_size(session: Session, piece_id: int, stage: str) -> tuple[SizeDraft, float | None]:
    """The size at the stage the piece is in (a finished piece is as it was fired)."""
    at = "fired" if stage in ("finished", "lost") else stage
    rows = {
        row.stage: row
        for row in session.scalars(select(Measurement).where(Measurement.piece_id == piece_id))
    }
    walls = [row.wall_mm for row in rows.values() if row.wall_mm is not None]
    row = rows.get(at)
    if row is None:
        return SizeDraft(stage=at), walls[-1] if walls else None
    size = SizeDraft(
        stage=at,
        height_mm=row.height_mm,
        across_mm=row.across_mm,
        wall_mm=row.wall_mm,
        mass_g=row.mass_g,
        mark_mm=row.mark_mm,
    )
    return size, row.wall_mm or (walls[-1] if walls else None)
