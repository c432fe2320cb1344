"""Test plans in a list, and the page of one: its tiles where they lie, and what came of each."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.cautions import Caution
from studiolog.craft.glaze.plans import PlanOptions, read_options, tile_code
from studiolog.craft.glaze.weighings import PlanMixing
from studiolog.journal.glaze_formula import GlazeFormula, read_formulas
from studiolog.journal.glazes import RecipePart, title_of
from studiolog.journal.plan_cautions import read_plan_cautions
from studiolog.journal.plan_mixing import read_plan_mixing
from studiolog.journal.plan_recipes import TileFormula, tile_formula
from studiolog.journal.plan_results import NOTHING_YET, TileResult, read_results
from studiolog.journal.plans import BASE, plan_tiles, read_shares
from studiolog.problems import UserProblem
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.inspections import Inspection
from studiolog.records.materials import StockChange
from studiolog.records.pieces import Piece, Run
from studiolog.records.plans import PlanCorner, PlanLayer, PlanTile, TestPlan
from studiolog.records.programs import Program

_FIRED = ("fired", "finished")
_GLAZED = ("glazed", *_FIRED)


@dataclass(frozen=True)
class PlanLine:
    """A plan in a list, and how far it has come. ``lost`` pieces count as made only."""

    plan_id: int
    version: int
    code: str
    name: str
    kind: str
    made_on: date
    tiles: int
    made: int
    glazed: int
    fired: int
    looked: int
    lost: int
    archived: bool

    @property
    def progress(self) -> str:
        """``12 of 21 fired``: the furthest that some tile has come."""
        for done, word in (
            (self.fired, "fired"),
            (self.glazed, "glazed"),
            (self.made, "made"),
        ):
            if done:
                told = f"{done} of {self.tiles} {word}"
                return f"{told}, {self.lost} lost" if self.lost else told
        return f"{self.tiles} planned"

    @property
    def next_step(self) -> str:
        """``make``, ``glaze``, ``fire``, ``look`` or ``done``."""
        if self.made < self.tiles:
            return "make"
        standing = self.tiles - self.lost
        for done, step in ((self.glazed, "glaze"), (self.fired, "fire"), (self.looked, "look")):
            if done < standing:
                return step
        return "done"


@dataclass(frozen=True)
class PlanCornerLine:
    """A glaze a plan starts from; position 0 is what the corners were computed from."""

    corner_id: int
    version: int
    position: int
    glaze_id: int
    title: str
    label: str
    colour: str
    pattern: int
    specific_gravity: float | None
    recipe: tuple[RecipePart, ...]
    trial: bool
    formula: TileFormula


@dataclass(frozen=True)
class PlanLayerLine:
    """A layer of a tile, from the clay outward."""

    glaze_id: int
    title: str
    colour: str
    pattern: int
    method: str | None
    coats: int | None
    seconds: float | None


@dataclass(frozen=True, kw_only=True)
class PlanTileLine(TileResult):
    """A tile where it lies, what it is to get, and what came of it.

    ``glaze_id`` is the one glaze it carries, None if it carries several; ``formula`` is that
    glaze's.
    """

    tile_id: int
    version: int
    position: int
    code: str
    row: int
    column: int
    words: str
    shares: tuple[float, ...]
    colour: str
    pattern: int
    glaze_id: int | None
    glaze_title: str
    trial: bool
    layers: tuple[PlanLayerLine, ...]
    formula: TileFormula | None


@dataclass(frozen=True, kw_only=True)
class PlanPage:
    """Everything of one plan. ``mixing`` is None where nothing is mixed, or can't be: see
    ``remarks``."""

    line: PlanLine
    plan_id: int
    version: int
    name: str
    code: str
    kind: str
    made_on: date
    clay_id: int | None
    clay_name: str
    form_id: int | None
    form_name: str
    run_id: int | None
    run_number: int | None
    program_id: int | None
    program_name: str
    cone: str
    tile_dry_g: float | None
    options: PlanOptions
    question: str
    lesson: str
    next_time: str
    archived: bool
    rows: int
    columns: int
    base: PlanCornerLine | None
    corners: tuple[PlanCornerLine, ...]
    tiles: tuple[PlanTileLine, ...]
    mixing: PlanMixing | None
    remarks: tuple[str, ...]
    cautions: tuple[Caution, ...]
    taken_on: date | None

    @property
    def next_step(self) -> str:
        """``make``, ``glaze``, ``fire``, ``look`` or ``done``."""
        return self.line.next_step

    @property
    def taken_from_stock(self) -> bool:
        """Whether what was weighed for it was taken off the shelf."""
        return self.taken_on is not None


def list_plans(session: Session, *, archived: bool = False) -> list[PlanLine]:
    """Plans, the newest first; archived ones only if asked for, and last."""
    query = select(TestPlan).order_by(
        TestPlan.archived, TestPlan.made_on.desc(), TestPlan.id.desc()
    )
    if not archived:
        query = query.where(TestPlan.archived.is_(False))
    return read_plan_lines(session, list(session.scalars(query)))


def read_plan_lines(session: Session, plans: Collection[TestPlan]) -> list[PlanLine]:
    """How far plans have come, in the order they are given."""
    stages: dict[int, list[str | None]] = defaultdict(list)
    looked: dict[int, int] = defaultdict(int)
    inspected = select(Inspection.piece_id).distinct().subquery()
    for row in session.execute(
        select(PlanTile.plan_id, Piece.stage, inspected.c.piece_id)
        .outerjoin(Piece, Piece.id == PlanTile.piece_id)
        .outerjoin(inspected, inspected.c.piece_id == PlanTile.piece_id)
        .where(PlanTile.plan_id.in_([plan.id for plan in plans]))
    ):
        stages[row.plan_id].append(row.stage)
        looked[row.plan_id] += row.stage in _FIRED and row.piece_id is not None
    return [
        PlanLine(
            plan.id,
            plan.version,
            plan.code,
            plan.name,
            plan.kind,
            plan.made_on,
            len(stages[plan.id]),
            sum(stage is not None for stage in stages[plan.id]),
            sum(stage in _GLAZED for stage in stages[plan.id]),
            sum(stage in _FIRED for stage in stages[plan.id]),
            looked[plan.id],
            sum(stage == "lost" for stage in stages[plan.id]),
            plan.archived,
        )
        for plan in plans
    ]


def read_plan_page(session: Session, plan_id: int) -> PlanPage | None:
    """The page of a plan; None if it is gone."""
    plan = session.get(TestPlan, plan_id)
    if plan is None:
        return None
    tiles = plan_tiles(session, plan_id)
    layers = _layers(session, plan_id)
    corner_rows = list(
        session.scalars(
            select(PlanCorner).where(PlanCorner.plan_id == plan_id).order_by(PlanCorner.position)
        )
    )
    glaze_ids = {row.glaze_id for row in corner_rows}
    glaze_ids |= {row.glaze_id for some in layers.values() for row in some}
    glazes = {row.id: row for row in session.scalars(select(Glaze).where(Glaze.id.in_(glaze_ids)))}
    formulas = read_formulas(session, glaze_ids)
    corners = _corners(session, corner_rows, glazes, formulas)
    mixing, remarks = None, []
    try:
        mixing = read_plan_mixing(session, plan)
    except UserProblem as problem:
        remarks.append(problem.sentence)
    if mixing is not None:
        remarks.extend(mixing.remarks)
    return PlanPage(
        line=read_plan_lines(session, [plan])[0],
        plan_id=plan.id,
        version=plan.version,
        name=plan.name,
        code=plan.code,
        kind=plan.kind,
        made_on=plan.made_on,
        clay_id=plan.clay_id,
        clay_name=_name(session.get(Clay, plan.clay_id or 0)),
        form_id=plan.form_id,
        form_name=_name(session.get(Form, plan.form_id or 0)),
        run_id=plan.run_id,
        run_number=session.scalar(select(Run.number).where(Run.id == plan.run_id)),
        program_id=plan.program_id,
        program_name=_name(session.get(Program, plan.program_id or 0)),
        cone=plan.cone,
        tile_dry_g=plan.tile_dry_g,
        options=read_options(plan.options),
        question=plan.question,
        lesson=plan.lesson,
        next_time=plan.next_time,
        archived=plan.archived,
        rows=max((tile.at_row for tile in tiles), default=1),
        columns=plan.tile_columns,
        base=next((one for one in corners if one.position == BASE), None),
        corners=tuple(one for one in corners if one.position != BASE),
        tiles=_tiles(session, plan, tiles, layers, glazes, formulas),
        mixing=mixing,
        remarks=tuple(remarks),
        cautions=read_plan_cautions(
            session, _weighed_of(plan, corners, layers), mixing.materials_g if mixing else ()
        ),
        taken_on=session.scalar(
            select(func.min(StockChange.changed_on)).where(StockChange.plan_id == plan_id)
        ),
    )


def _weighed_of(
    plan: TestPlan,
    corners: Collection[PlanCornerLine],
    layers: Mapping[int, Collection[PlanLayer]],
) -> set[int]:
    """Glazes whose recipes name all that is weighed: those of tiles only where more is added."""
    ids = {one.glaze_id for one in corners}
    if plan.kind == "additions":
        ids |= {one.glaze_id for some in layers.values() for one in some}
    return ids


def _name(row: Clay | Form | Program | None) -> str:
    return row.name if row is not None else ""


def _layers(session: Session, plan_id: int) -> dict[int, list[PlanLayer]]:
    found: dict[int, list[PlanLayer]] = defaultdict(list)
    for row in session.scalars(
        select(PlanLayer)
        .join(PlanTile, PlanTile.id == PlanLayer.tile_id)
        .where(PlanTile.plan_id == plan_id)
        .order_by(PlanLayer.position)
    ):
        found[row.tile_id].append(row)
    return found


def _corners(
    session: Session,
    rows: Collection[PlanCorner],
    glazes: Mapping[int, Glaze],
    formulas: Mapping[int, GlazeFormula],
) -> list[PlanCornerLine]:
    recipes: dict[int, list[RecipePart]] = defaultdict(list)
    for line in session.scalars(
        select(RecipeLine)
        .where(RecipeLine.glaze_id.in_([row.glaze_id for row in rows]))
        .order_by(RecipeLine.addition, RecipeLine.position)
    ):
        recipes[line.glaze_id].append(
            RecipePart(line.material, line.parts, line.addition, line.lot_id)
        )
    found = []
    for row in rows:
        glaze = glazes[row.glaze_id]
        title = title_of(glaze.name, glaze.version_number)
        found.append(
            PlanCornerLine(
                row.id,
                row.version,
                row.position,
                glaze.id,
                title,
                row.label or title,
                glaze.colour,
                glaze.pattern,
                row.specific_gravity
                if row.specific_gravity is not None
                else glaze.specific_gravity,
                tuple(recipes[glaze.id]),
                glaze.trial,
                tile_formula(formulas[glaze.id]),
            )
        )
    return found


def _tiles(
    session: Session,
    plan: TestPlan,
    tiles: Collection[PlanTile],
    layers: Mapping[int, list[PlanLayer]],
    glazes: Mapping[int, Glaze],
    formulas: Mapping[int, GlazeFormula],
) -> tuple[PlanTileLine, ...]:
    piece_ids = [tile.piece_id for tile in tiles if tile.piece_id is not None]
    results = read_results(session, piece_ids)
    found = []
    for tile in tiles:
        laid = layers.get(tile.id, [])
        lines = tuple(_layer_line(row, glazes[row.glaze_id]) for row in laid)
        named = {line.glaze_id for line in lines}
        only = glazes[next(iter(named))] if len(named) == 1 else None
        formula = tile_formula(formulas[only.id]) if only is not None else None
        found.append(
            PlanTileLine(
                tile_id=tile.id,
                version=tile.version,
                position=tile.position,
                code=tile_code(plan.code, tile.position),
                row=tile.at_row,
                column=tile.at_column,
                words=tile.words,
                shares=read_shares(tile.shares),
                colour=lines[-1].colour if lines else "#8A8A80",
                pattern=lines[-1].pattern if lines else 0,
                glaze_id=only.id if only is not None else None,
                glaze_title=title_of(only.name, only.version_number) if only is not None else "",
                trial=only is not None and only.trial,
                layers=lines,
                formula=formula,
                **vars(results.get(tile.piece_id or 0, NOTHING_YET)),
            )
        )
    return tuple(found)


def _layer_line(row: PlanLayer, glaze: Glaze) -> PlanLayerLine:
    return PlanLayerLine(
        glaze.id,
        title_of(glaze.name, glaze.version_number),
        glaze.colour,
        glaze.pattern,
        row.method,
        row.coats,
        row.seconds,
    )
