"""Everything the page of a piece shows, read in a few queries."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from studiolog.craft.words import FAULTS, STAGES
from studiolog.journal.glazes import title_of
from studiolog.journal.held_pieces import HeldFor, read_held_for
from studiolog.journal.photos import PictureLine, read_pictures
from studiolog.journal.piece_firings import PieceFiring, SmallCurveData, read_piece_firings
from studiolog.journal.piece_firings import read_small_curve as read_small_curve
from studiolog.journal.piece_lines import (
    ClayFacts,
    FaultLine,
    FaultRow,
    FormFacts,
    InspectionLine,
    LayerLine,
    PieceLink,
    RunLink,
    RunPlace,
    SizeLine,
    StageLine,
    StepLine,
    SurfaceLine,
)
from studiolog.journal.plan_results import PlanPlace, read_plan_place
from studiolog.journal.profiles import profile_from_text
from studiolog.journal.surfaces import surfaces_by_inspection
from studiolog.journal.tools import ToolMark, tools_of_piece
from studiolog.problems import UserProblem
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Bucket, Glaze
from studiolog.records.inspections import FaultReading, Inspection
from studiolog.records.pieces import (
    Layer,
    Measurement,
    Piece,
    Run,
    RunSource,
    StageChange,
    Step,
)

__all__ = ["PiecePage", "SmallCurveData", "read_piece_page", "read_small_curve"]

_CHAIN = 12  # pieces back along "came from": longer chains are cut, not followed for ever


@dataclass(frozen=True)
class PiecePage:
    """The page of one piece."""

    piece_id: int
    version: int
    number: int | None
    title: str
    name: str
    form: FormFacts | None
    clay: ClayFacts | None
    run: RunPlace | None
    stage: str
    lost_why: str
    made_on: date | None
    kept_where: str
    notes: str
    lesson: str
    next_time: str
    previous: PieceLink | None
    following: PieceLink | None
    pictures: tuple[PictureLine, ...]
    before: PictureLine | None
    after: PictureLine | None
    layers: tuple[LayerLine, ...]
    wall_mm: float | None
    stages: tuple[StageLine, ...]
    steps: tuple[StepLine, ...]
    sizes: tuple[SizeLine, ...]
    shrinkages: Mapping[str, float]
    """Linear shrinkage from wet to fired, a fraction: "mark_mm", "height_mm", "across_mm"."""
    shrinkage: float | None
    firings: tuple[PieceFiring, ...]
    inspections: tuple[InspectionLine, ...]
    fault_rows: tuple[FaultRow, ...]
    came_from: tuple[PieceLink, ...]
    """The pieces that led here, the first of the chain first."""
    became_pieces: tuple[PieceLink, ...]
    became_runs: tuple[RunLink, ...]
    plan: PlanPlace | None = None
    kind: str = "ware"
    tools: tuple[ToolMark, ...] = ()
    """The tools it was made with, those used on the whole of its run too."""
    held_for: HeldFor | None = None

    def size(self, stage: str) -> SizeLine:
        """What was measured at a stage; an empty line where nothing was."""
        return next((line for line in self.sizes if line.stage == stage), SizeLine(stage))

    @property
    def worst_fault(self) -> tuple[str, int, int | None] | None:
        """The worst fault seen: key, severity, days after firing; of equals the newest."""
        seen = [
            (fault.severity, index, fault.fault, line.days_after_firing)
            for index, line in enumerate(self.inspections)
            for fault in line.faults
            if fault.severity > 0
        ]
        if not seen:
            return None
        severity, _, fault, days = max(seen, key=lambda entry: entry[:2])
        return fault, severity, days


def read_piece_page(session: Session, piece_id: int) -> PiecePage:
    """Read the page of a piece. Raises `UserProblem` if it is gone."""
    found = session.execute(
        select(Piece, Form, Clay, Run)
        .outerjoin(Form, Form.id == Piece.form_id)
        .outerjoin(Clay, Clay.id == Piece.clay_id)
        .outerjoin(Run, Run.id == Piece.run_id)
        .where(Piece.id == piece_id)
    ).one_or_none()
    if found is None:
        raise UserProblem("This piece is no longer in the journal: it was deleted or undone.")
    piece, form, clay, run = found
    pictures = tuple(read_pictures(session, piece_ids=[piece_id]).get(piece_id, []))
    firings = read_piece_firings(session, piece_id)
    sizes = _sizes(session, piece_id)
    inspections = _inspections(session, piece_id, firings)
    before, after = choose_pair(pictures)
    shrinkages = linear_shrinkages(sizes)
    return PiecePage(
        piece_id=piece.id,
        version=piece.version,
        number=piece.number,
        title=piece.title,
        name=piece.title or (form.name if form is not None else "") or "Piece",
        form=_form_facts(form),
        clay=_clay_facts(session, clay),
        run=_run_place(session, piece, run),
        plan=read_plan_place(session, piece_id),
        kind=piece.kind,
        tools=tools_of_piece(session, piece_id),
        held_for=read_held_for(session, piece),
        stage=piece.stage,
        lost_why=piece.lost_why,
        made_on=piece.made_on,
        kept_where=piece.kept_where,
        notes=piece.notes,
        lesson=piece.lesson,
        next_time=piece.next_time,
        previous=_neighbour(session, piece.number, -1),
        following=_neighbour(session, piece.number, +1),
        pictures=pictures,
        before=before,
        after=after,
        layers=_layers(session, piece_id),
        wall_mm=_latest_wall(sizes),
        stages=_stages(session, piece_id),
        steps=_steps(session, piece_id),
        sizes=sizes,
        shrinkages=shrinkages,
        shrinkage=_shrinkage(shrinkages),
        firings=firings,
        inspections=inspections,
        fault_rows=fault_rows(inspections),
        came_from=_chain(session, piece.came_from_id),
        became_pieces=_became_pieces(session, piece_id),
        became_runs=_became_runs(session, piece_id),
    )


def choose_pair(
    pictures: Sequence[PictureLine],
) -> tuple[PictureLine | None, PictureLine | None]:
    """The picture before firing and the one after that are laid on each other.

    The nearest moment on either side of the glaze firing; of several, one whose scale is known,
    else the first.
    """

    def pick(*moments: str) -> PictureLine | None:
        for moment in moments:
            some = [picture for picture in pictures if picture.moment == moment]
            if some:
                return next((one for one in some if one.px_per_mm), some[0])
        return None

    return pick("glazed", "bisque", "bone_dry", "making"), pick("fired", "later")


def linear_shrinkages(sizes: Sequence[SizeLine]) -> dict[str, float]:
    """Linear shrinkage wet to fired, (wet − fired) / wet, for what was measured both times."""
    by_stage = {line.stage: line for line in sizes}
    wet, fired = by_stage.get("wet"), by_stage.get("fired")
    found: dict[str, float] = {}
    if wet is not None and fired is not None:
        for name in ("mark_mm", "height_mm", "across_mm"):
            before, after = getattr(wet, name), getattr(fired, name)
            if before and after:
                found[name] = (before - after) / before
    return found


def _shrinkage(shrinkages: Mapping[str, float]) -> float | None:
    """That of its marks; else the mean of height and width, which trimming and warping move."""
    if "mark_mm" in shrinkages:
        return shrinkages["mark_mm"]
    return sum(shrinkages.values()) / len(shrinkages) if shrinkages else None


def fault_rows(inspections: Sequence[InspectionLine]) -> tuple[FaultRow, ...]:
    """Faults by inspections: first those ever seen, then those looked for, as the words stand."""
    rows: list[tuple[bool, int, FaultRow]] = []
    for place, fault in enumerate(FAULTS):
        readings = [
            [reading for reading in line.faults if reading.fault == fault] for line in inspections
        ]
        if not any(readings):
            continue
        severities = tuple(
            max(reading.severity for reading in found) if found else None for found in readings
        )
        seen = [r for found in readings for r in found if r.severity > 0]
        told: dict[str, None] = {}
        for reading in seen or [r for found in readings for r in found]:
            words = ", ".join(filter(None, (reading.zone, reading.note)))
            if words:
                told[words] = None
        rows.append((not seen, place, FaultRow(fault, "; ".join(told), severities)))
    return tuple(row for _, _, row in sorted(rows, key=lambda entry: entry[:2]))


def _form_facts(form: Form | None) -> FormFacts | None:
    if form is None:
        return None
    return FormFacts(
        form.id,
        form.name,
        form.shape,
        form.fired_height_mm,
        form.fired_across_mm,
        profile_from_text(form.profile),
    )


def _clay_facts(session: Session, clay: Clay | None) -> ClayFacts | None:
    if clay is None:
        return None
    usual, basis = None, ""
    if clay.shrinkage_percent is not None:
        usual, basis = clay.shrinkage_percent / 100, "stated"
    else:
        wet, fired = aliased(Measurement), aliased(Measurement)
        measured = [
            (before - after) / before
            for before, after in session.execute(
                select(wet.height_mm, fired.height_mm)
                .join(fired, fired.piece_id == wet.piece_id)
                .join(Piece, Piece.id == wet.piece_id)
                .where(Piece.clay_id == clay.id, wet.stage == "wet", fired.stage == "fired")
                .order_by(wet.id.desc())
                .limit(200)
            )
            if before and after
        ]
        if measured:
            many = len(measured)
            usual, basis = median(measured), f"{many} piece{'' if many == 1 else 's'}"
    return ClayFacts(clay.id, clay.name, clay.colour, clay.specks, usual, basis)


def _run_place(session: Session, piece: Piece, run: Run | None) -> RunPlace | None:
    if run is None:
        return None
    ids = list(
        session.scalars(select(Piece.id).where(Piece.run_id == run.id).order_by(Piece.id)).all()
    )
    return RunPlace(run.id, run.number, run.title, ids.index(piece.id) + 1, len(ids))


def _neighbour(session: Session, number: int | None, way: int) -> PieceLink | None:
    if number is None:
        return None
    query = select(Piece.id, Piece.number, Piece.title, Form.name).outerjoin(
        Form, Form.id == Piece.form_id
    )
    if way < 0:
        query = query.where(Piece.number < number).order_by(Piece.number.desc())
    else:
        query = query.where(Piece.number > number).order_by(Piece.number)
    row = session.execute(query.limit(1)).one_or_none()
    return PieceLink(row[0], row[1], row[2] or row[3] or "Piece") if row is not None else None


def _layers(session: Session, piece_id: int) -> tuple[LayerLine, ...]:
    """Layers in the order they were written: zone by zone, each from the clay outward."""
    rows = session.execute(
        select(Layer, Glaze, Bucket.mixed_on)
        .join(Glaze, Glaze.id == Layer.glaze_id)
        .outerjoin(Bucket, Bucket.id == Layer.bucket_id)
        .where(Layer.piece_id == piece_id)
        .order_by(Layer.id)
    )
    return tuple(
        LayerLine(
            layer.id,
            layer.version,
            layer.zone,
            layer.position,
            glaze.id,
            title_of(glaze.name, glaze.version_number),
            glaze.colour,
            glaze.pattern,
            layer.method,
            layer.coats,
            layer.seconds,
            layer.bucket_id,
            mixed_on,
            layer.thickness_mm,
            layer.note,
        )
        for layer, glaze, mixed_on in rows
    )


def _stages(session: Session, piece_id: int) -> tuple[StageLine, ...]:
    rows = session.scalars(
        select(StageChange)
        .where(StageChange.piece_id == piece_id)
        .order_by(StageChange.at, StageChange.id)
    )
    return tuple(StageLine(row.id, row.version, row.stage, row.at, row.note) for row in rows)


def _steps(session: Session, piece_id: int) -> tuple[StepLine, ...]:
    rows = session.scalars(
        select(Step).where(Step.piece_id == piece_id).order_by(Step.done_on, Step.id)
    )
    return tuple(
        StepLine(row.id, row.version, row.name, row.done_on, row.minutes, row.note) for row in rows
    )


def _sizes(session: Session, piece_id: int) -> tuple[SizeLine, ...]:
    order = {stage: place for place, stage in enumerate(STAGES)}
    rows = session.scalars(select(Measurement).where(Measurement.piece_id == piece_id))
    lines = [
        SizeLine(
            row.stage,
            row.height_mm,
            row.across_mm,
            row.wall_mm,
            row.mass_g,
            row.version,
            row.mark_mm,
        )
        for row in rows
    ]
    return tuple(sorted(lines, key=lambda line: order[line.stage]))


def _latest_wall(sizes: Sequence[SizeLine]) -> float | None:
    known = [line.wall_mm for line in sizes if line.wall_mm is not None]
    return known[-1] if known else None


def _inspections(
    session: Session, piece_id: int, firings: Sequence[PieceFiring]
) -> tuple[InspectionLine, ...]:
    lines = session.scalars(
        select(Inspection)
        .where(Inspection.piece_id == piece_id)
        .order_by(Inspection.looked_on, Inspection.id)
    ).all()
    readings: dict[int, list[FaultReading]] = defaultdict(list)
    for reading in session.scalars(
        select(FaultReading)
        .join(Inspection, Inspection.id == FaultReading.inspection_id)
        .where(Inspection.piece_id == piece_id)
        .order_by(FaultReading.id)
    ):
        readings[reading.inspection_id].append(reading)
    said = surfaces_by_inspection(session, piece_id)
    return tuple(
        InspectionLine(
            line.id,
            line.version,
            line.looked_on,
            line.stress_tested,
            line.note,
            tuple(
                FaultLine(one.fault, one.severity, one.zone, one.note) for one in readings[line.id]
            ),
            tuple(one.version for one in (*readings[line.id], *said.get(line.id, ()))),
            _days_after(line.looked_on, firings),
            tuple(SurfaceLine(one.word, one.zone) for one in said.get(line.id, ())),
        )
        for line in lines
    )


def _days_after(day: date, firings: Iterable[PieceFiring]) -> int | None:
    """Days since the last firing that had started by then."""
    before = [one.started_at.date() for one in firings if one.started_at.date() <= day]
    return (day - max(before)).days if before else None


def _links(session: Session, pieces: Sequence[Piece], names: Mapping[int, str]) -> list[PieceLink]:
    ids = [piece.id for piece in pieces]
    pictures = read_pictures(session, piece_ids=ids) if ids else {}
    said = _said(session, ids)
    found = []
    for piece in pieces:
        shown = shown_picture(pictures.get(piece.id, []))
        found.append(
            PieceLink(
                piece.id,
                piece.number,
                piece.title or names.get(piece.form_id or 0, "") or "Piece",
                shown.sha256 if shown else None,
                shown.suffix if shown else "",
                piece.lesson.split("\n")[0] or said.get(piece.id, ""),
            )
        )
    return found


def shown_picture(pictures: Sequence[PictureLine]) -> PictureLine | None:
    """The one picture that stands for a piece: fired if there is one, else the latest."""
    fired = [one for one in pictures if one.moment == "fired"]
    return fired[0] if fired else (pictures[-1] if pictures else None)


def _said(session: Session, ids: Sequence[int]) -> dict[int, str]:
    """A few words for each piece: its glazes, outermost first."""
    names: dict[int, dict[str, None]] = defaultdict(dict)
    for piece_id, name in session.execute(
        select(Layer.piece_id, Glaze.name)
        .join(Glaze, Glaze.id == Layer.glaze_id)
        .where(Layer.piece_id.in_(ids))
        .order_by(Layer.zone.desc(), Layer.position.desc())
    ):
        names[piece_id][name] = None
    return {piece_id: ", ".join(found) for piece_id, found in names.items()}


def _form_names(session: Session, pieces: Sequence[Piece]) -> dict[int, str]:
    ids = {piece.form_id for piece in pieces if piece.form_id}
    if not ids:
        return {}
    rows = session.execute(select(Form.id, Form.name).where(Form.id.in_(ids)))
    return {row[0]: row[1] for row in rows}


def _chain(session: Session, came_from_id: int | None) -> tuple[PieceLink, ...]:
    chain: list[Piece] = []
    met: set[int] = set()
    while came_from_id is not None and came_from_id not in met and len(chain) < _CHAIN:
        met.add(came_from_id)
        parent = session.get(Piece, came_from_id)
        if parent is None:
            break
        chain.append(parent)
        came_from_id = parent.came_from_id
    chain.reverse()
    return tuple(_links(session, chain, _form_names(session, chain)))


def _became_pieces(session: Session, piece_id: int) -> tuple[PieceLink, ...]:
    children = session.scalars(
        select(Piece).where(Piece.came_from_id == piece_id).order_by(Piece.id).limit(50)
    ).all()
    return tuple(_links(session, children, _form_names(session, children)))


def _became_runs(session: Session, piece_id: int) -> tuple[RunLink, ...]:
    counted = select(Piece.run_id, func.count().label("pieces")).group_by(Piece.run_id).subquery()
    rows = session.execute(
        select(RunSource, Run, Form.name, func.coalesce(counted.c.pieces, 0))
        .join(Run, Run.id == RunSource.run_id)
        .outerjoin(Form, Form.id == Run.form_id)
        .outerjoin(counted, counted.c.run_id == Run.id)
        .where(RunSource.piece_id == piece_id)
        .order_by(Run.number)
    )
    return tuple(
        RunLink(run.id, run.number, run.title or name or "Run", pieces, source.version, source.id)
        for source, run, name, pieces in rows
    )
