"""One sheet for one piece: opened by its number, or new; kept in one edit.

A sheet of a piece that is there shows what is stored, and keeping it writes only what was
changed on it. What the sheet does not show (earlier inspections, steps, other firings) stays.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.inspections import (
    InspectionDraft,
    change_inspection,
    log_inspection,
    set_fault_readings,
    set_surface_readings,
)
from studiolog.journal.layer_words import WordedLayer
from studiolog.journal.photos import add_picture
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    SizeDraft,
    change_piece,
    log_piece,
    move_to_stage,
    place_piece,
    set_layers,
    set_size,
    single_out,
    unplace_piece,
)
from studiolog.journal.sheet_choices import (
    read_clays,
    read_firings,
    read_forms,
    read_glazes,
    read_runs,
)
from studiolog.journal.sheet_page import (
    STAGE_RANK,
    Offer,
    SheetDraft,
    SheetPage,
    pairs_of,
    sheet_like,
)
from studiolog.journal.sheet_reading import StoredPiece, read_layer_rows, read_stored
from studiolog.journal.writing import get, next_number
from studiolog.problems import UserProblem
from studiolog.records.facts import pair_fact
from studiolog.records.firings import Firing
from studiolog.records.pieces import Layer, Measurement, Piece, Placement


def find_number(session: Session, number: int) -> int | None:
    """The piece that has this number."""
    return session.scalar(select(Piece.id).where(Piece.number == number))


def open_sheet(
    session: Session,
    number: int | None = None,
    like: int | None = None,
    *,
    now: datetime | None = None,
) -> SheetPage:
    """The sheet of the piece that has ``number``, or of a new one under that or the next number.

    ``like`` is the piece a new one is to be logged after: all of it but number and photos, and
    its faults listed as not looked for, since nobody has looked at the new one.
    """
    now = now or datetime.now()
    piece_id = find_number(session, number) if number is not None else None
    model_id = piece_id if piece_id is not None else like
    like_number: int | None = None
    if model_id is None:
        page = StoredPiece(SheetDraft(looked_on=now.date()))
    else:
        page = read_stored(session, model_id, now.date())
        if piece_id is None:
            like_number = page.draft.number
            page = _as_model(page)
    proposed = number if number is not None else next_number(session, Piece.number)
    draft = page.draft if piece_id is not None else replace(page.draft, number=proposed)
    offer = _read_offer(session) if piece_id is None and like is None else Offer()
    if piece_id is not None and draft.firing_id is None:
        offer = Offer(firing_id=_newest_firing(session))
    forms = read_forms(session, _ids(draft.form_id, offer.form_id))
    if piece_id is None and offer.form_id is None and len(forms) == 1:
        offer = replace(offer, form_id=forms[0].form_id)
    title = page.title or next((f.name for f in forms if f.form_id == draft.form_id), "")
    return SheetPage(
        draft=draft,
        piece_id=piece_id,
        number=proposed,
        title=title,
        stage=page.stage,
        stages=page.stages,
        wall_mm=page.wall_mm,
        pictures=page.pictures,
        earlier=page.earlier,
        fault_rows=page.fault_rows,
        other_firings=page.other_firings,
        like_number=like_number,
        offer=offer,
        clays=read_clays(session, _ids(draft.clay_id, offer.clay_id)),
        forms=forms,
        glazes=read_glazes(session, {layer.glaze_id for layer in draft.layers}),
        firings=read_firings(session, _ids(draft.firing_id, offer.firing_id), now),
        runs=read_runs(session, _ids(draft.run_id)),
    )


def _ids(*ids: int | None) -> list[int]:
    return [one for one in ids if one is not None]


def _as_model(stored: StoredPiece) -> StoredPiece:
    """A piece as the model of the next one."""
    return StoredPiece(
        draft=sheet_like(stored.draft),
        title="",
        wall_mm=stored.wall_mm,
        fault_rows=stored.fault_rows,
    )


def _read_offer(session: Session) -> Offer:
    """Clay, form, firing and level of the piece logged last; nothing of a first piece."""
    last = session.scalars(
        select(Piece).where(Piece.number.is_not(None)).order_by(Piece.id.desc()).limit(1)
    ).first()
    if last is None:
        return Offer()
    place = session.scalars(
        select(Placement)
        .where(Placement.piece_id == last.id)
        .order_by(Placement.id.desc())
        .limit(1)
    ).first()
    return Offer(
        last.number,
        last.clay_id,
        last.form_id,
        place.firing_id if place else None,
        place.level_id if place else None,
    )


def _newest_firing(session: Session) -> int | None:
    """The glaze firing a piece in hand most likely came from: the last one there was."""
    return session.scalar(
        select(Firing.id)
        .where(Firing.kind == "glaze")
        .order_by(Firing.started_at.desc(), Firing.id.desc())
        .limit(1)
    )


@dataclass(frozen=True)
class CellAnswer:
    """The cell of the findings a sheet speaks to, and how many pieces stand in it."""

    over_id: int
    under_id: int | None
    clay_id: int
    before: int
    after: int


def preview_answer(session: Session, draft: SheetDraft) -> CellAnswer | None:
    """Which cell of the findings this piece answers; None while clay or glaze is not known."""
    pairs = pairs_of(draft.layers)
    if not pairs or draft.clay_id is None:
        return None
    over_id, under_id = pairs[0]
    where = [pair_fact.c.over_id == over_id, pair_fact.c.clay_id == draft.clay_id]
    if under_id is None:
        where += [pair_fact.c.under_id == 0, pair_fact.c.alone == 1]
    else:
        where.append(pair_fact.c.under_id == under_id)
    counted = select(func.count(pair_fact.c.piece_id.distinct())).where(*where)
    before = int(session.scalar(counted) or 0)
    there = 0
    if draft.piece_id is not None:
        there = int(session.scalar(counted.where(pair_fact.c.piece_id == draft.piece_id)) or 0)
    return CellAnswer(over_id, under_id, draft.clay_id, before, before + 1 - there)


# Keeping a sheet


def save_sheet(
    session: Session,
    draft: SheetDraft,
    opened: SheetDraft | None = None,
    *,
    now: datetime | None = None,
) -> int:
    """Keep a sheet; returns the id of its piece.

    A new piece of a run that still has unnumbered pieces is one of those, singled out. For a
    piece that is there, ``opened`` is the sheet as it was first shown: only what differs from it
    is written. Without ``opened`` it is compared with what is stored now.
    """
    now = (now or datetime.now()).replace(microsecond=0)
    _check(draft)
    if draft.piece_id is not None:
        stored = opened or read_stored(session, draft.piece_id, draft.looked_on or now.date()).draft
        _save_changes(session, draft.piece_id, draft, stored, now)
        return draft.piece_id
    if draft.number is not None and find_number(session, draft.number) is not None:
        sentence = f"There is a piece {draft.number} already."
        raise UserProblem(sentence, {"number": sentence})
    counted = _unnumbered_of(session, draft)
    if counted is None:
        return _save_new(session, draft, now)
    single_out(session, counted, draft.number)
    stored = read_stored(session, counted, draft.looked_on or now.date()).draft
    _save_changes(session, counted, *_singled_out(draft, stored), now)
    return counted


def _singled_out(draft: SheetDraft, stored: SheetDraft) -> tuple[SheetDraft, SheetDraft]:
    """A sheet over a counted piece: what it leaves open stays as the run had it.

    A firing the piece went through with its run is not taken back by another one on the sheet.
    """
    full = replace(
        draft,
        version=None,
        form_id=draft.form_id or stored.form_id,
        clay_id=draft.clay_id or stored.clay_id,
        height_mm=draft.height_mm or stored.height_mm,
        across_mm=draft.across_mm or stored.across_mm,
        mass_g=draft.mass_g or stored.mass_g,
        size_stage=stored.size_stage,
        layers=draft.layers or stored.layers,
        next_time=draft.next_time or stored.next_time,
    )
    if draft.firing_id is None:
        return replace(full, firing_id=stored.firing_id, level_id=stored.level_id), stored
    if draft.firing_id == stored.placed_in:
        return replace(full, level_id=draft.level_id or stored.level_id), stored
    return full, replace(stored, placed_in=None, level_id=None)


def _check(draft: SheetDraft) -> None:
    if draft.number is not None and draft.number <= 0:
        raise UserProblem("A piece number is 1 or more.", {"number": "1 or more"})
    if draft.level_id is not None and draft.firing_id is None:
        sentence = "Say which firing the level belongs to."
        raise UserProblem(sentence, {"firing": sentence})


def _unnumbered_of(session: Session, draft: SheetDraft) -> int | None:
    """A piece of the run without a number: one from the firing and level named, if there is."""
    if draft.run_id is None:
        return None
    placed = session.scalars(select(Placement).where(Placement.firing_id == draft.firing_id))
    stood = {place.piece_id: place.level_id for place in placed}
    pieces = session.scalars(
        select(Piece).where(
            Piece.run_id == draft.run_id, Piece.number.is_(None), Piece.stage != "lost"
        )
    ).all()

    def unlikely(piece: Piece) -> tuple[bool, bool, int, int]:
        there = piece.id in stood
        elsewhere = there and draft.level_id is not None and stood[piece.id] != draft.level_id
        # Of those that were not there, one that is least far along: finished ware may be gone.
        return (not there, elsewhere, 0 if there else STAGE_RANK[piece.stage], piece.id)

    return min(pieces, key=unlikely).id if pieces else None


def _save_new(session: Session, draft: SheetDraft, now: datetime) -> int:
    stage, at = _stage_of(session, draft, None, now) or ("wet", now)
    sized = _sized(draft)
    return log_piece(
        session,
        PieceDraft(
            number=draft.number,
            run_id=draft.run_id,
            form_id=draft.form_id,
            clay_id=draft.clay_id,
            # When it was made is known only of what is being made.
            made_on=now.date() if stage == "wet" else None,
            stage=stage,
            stages=((stage, at),),
            sizes=(replace(_size(draft), stage=stage),) if sized else (),
            layers=tuple(_layer_draft(layer) for layer in draft.layers),
            placements=(
                (PlacementDraft(firing_id=draft.firing_id, level_id=draft.level_id),)
                if draft.firing_id is not None
                else ()
            ),
            inspections=(
                (_inspection(draft, draft.looked_on or now.date()),)
                if draft.faults or draft.surfaces
                else ()
            ),
            pictures=draft.pictures,
            next_time=draft.next_time.strip(),
        ),
    )


def _save_changes(
    session: Session, piece_id: int, draft: SheetDraft, opened: SheetDraft, now: datetime
) -> None:
    fields = {
        name: getattr(draft, name)
        for name in ("run_id", "form_id", "clay_id", "next_time")
        if getattr(draft, name) != getattr(opened, name)
    }
    if fields:
        change_piece(session, piece_id, draft.version, **fields)
    if draft.layers != opened.layers:
        set_layers(session, piece_id, _keep_details(session, piece_id, draft.layers))
    if (draft.firing_id, draft.level_id) != (opened.placed_in, opened.level_id):
        if opened.placed_in is not None and draft.firing_id != opened.placed_in:
            unplace_piece(session, piece_id, opened.placed_in)
        if draft.firing_id is not None:
            place_piece(
                session,
                piece_id,
                PlacementDraft(firing_id=draft.firing_id, level_id=draft.level_id),
            )
    piece = get(session, Piece, piece_id)
    reached = _stage_of(session, draft, piece.stage, now)
    if reached is not None:
        move_to_stage(session, piece_id, *reached)
    sizes = ("height_mm", "across_mm", "mass_g")
    changed = {n: getattr(draft, n) for n in sizes if getattr(draft, n) != getattr(opened, n)}
    if changed:
        _save_size(session, piece_id, draft, changed, reached)
    _save_faults(session, piece_id, draft, opened, now)
    for picture in draft.pictures:
        add_picture(session, picture, piece_id=piece_id)


def _stage_of(
    session: Session, draft: SheetDraft, stage: str | None, now: datetime
) -> tuple[str, datetime] | None:
    """The stage a sheet brings its piece to and since when; None if it is there already."""
    firing = None
    if draft.firing_id is not None:
        get(session, Firing, draft.firing_id)
        known = read_firings(session, [draft.firing_id], now)
        firing = next(one for one in known if one.firing_id == draft.firing_id)
    reached, at = "wet", now
    if firing is not None and firing.over_at is not None:
        reached, at = ("bisque" if firing.kind == "bisque" else "fired"), firing.over_at
    elif draft.layers:
        reached = "glazed"
    if stage is not None and STAGE_RANK[stage] >= STAGE_RANK[reached]:
        return None
    return reached, at


def _size(draft: SheetDraft) -> SizeDraft:
    return SizeDraft(
        stage=draft.size_stage or "wet",
        height_mm=draft.height_mm,
        across_mm=draft.across_mm,
        mass_g=draft.mass_g,
    )


def _sized(draft: SheetDraft) -> bool:
    return any(v is not None for v in (draft.height_mm, draft.across_mm, draft.mass_g))


def _save_size(
    session: Session,
    piece_id: int,
    draft: SheetDraft,
    changed: Mapping[str, float | None],
    reached: tuple[str, datetime] | None,
) -> None:
    """Sizes are of the stage the piece is in now; what the sheet does not show stays."""
    piece = get(session, Piece, piece_id)
    at = reached[0] if reached else draft.size_stage or piece.stage
    stored = session.scalars(
        select(Measurement).where(Measurement.piece_id == piece_id, Measurement.stage == at)
    ).first()
    values = {
        name: changed.get(name, getattr(stored, name, None))
        for name in ("height_mm", "across_mm", "wall_mm", "mass_g", "mark_mm")
    }
    set_size(session, piece_id, SizeDraft(stage=at, **values))


def _save_faults(
    session: Session, piece_id: int, draft: SheetDraft, opened: SheetDraft, now: datetime
) -> None:
    same = set(draft.faults) == set(opened.faults) and set(draft.surfaces) == set(opened.surfaces)
    if same and (draft.inspection_id is None or draft.looked_on == opened.looked_on):
        return
    looked_on = draft.looked_on or now.date()
    if draft.inspection_id is None:
        if draft.faults or draft.surfaces:
            log_inspection(session, piece_id, _inspection(draft, looked_on))
        return
    set_fault_readings(session, draft.inspection_id, draft.faults)
    if set(draft.surfaces) != set(opened.surfaces):
        set_surface_readings(session, draft.inspection_id, draft.surfaces)
    if looked_on != opened.looked_on:
        change_inspection(session, draft.inspection_id, looked_on=looked_on)


def _inspection(draft: SheetDraft, looked_on: date) -> InspectionDraft:
    return InspectionDraft(looked_on=looked_on, faults=draft.faults, surfaces=draft.surfaces)


def _layer_draft(layer: WordedLayer, stored: Layer | None = None) -> LayerDraft:
    return LayerDraft(
        zone=layer.zone,
        glaze_id=layer.glaze_id,
        method=layer.method,
        coats=layer.coats,
        seconds=layer.seconds,
        bucket_id=stored.bucket_id if stored else None,
        thickness_mm=stored.thickness_mm if stored else None,
        note=stored.note if stored else "",
    )


def _keep_details(
    session: Session, piece_id: int, layers: Sequence[WordedLayer]
) -> list[LayerDraft]:
    """Layers as typed; one of the same glaze on the same zone keeps its bucket and its note."""
    left = list(read_layer_rows(session, piece_id))
    drafts = []
    for layer in layers:
        same = next(
            (row for row in left if (row.glaze_id, row.zone) == (layer.glaze_id, layer.zone)), None
        )
        if same is not None:
            left.remove(same)
        drafts.append(_layer_draft(layer, same))
    return drafts
