"""A test plan looked at before it is made: tiles, recipes, formulas and mixing, nothing stored.

What can't be is told here, in a sentence with its field; `plans.add_plan` writes what is found.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import parse_cone
from studiolog.craft.glaze.blend import BlendPart, blended_moles, grid_shares
from studiolog.craft.glaze.plans import (
    BLENDS,
    CORNERS,
    Layout,
    LayoutTile,
    PlanOptions,
    lay_out_plan,
    tile_code,
    trial_name,
)
from studiolog.craft.glaze.weighings import PlanMixing, check_corner, mix_plan
from studiolog.craft.limits import Limits
from studiolog.craft.units import show_quantity
from studiolog.craft.words import METHODS, PLAN_KINDS
from studiolog.journal.glaze_formula import compute_formula
from studiolog.journal.letters import contains, reads_as
from studiolog.journal.limits import read_limits
from studiolog.journal.plan_recipes import (
    PlanGlaze,
    TileFormula,
    TileGlaze,
    compute_corners,
    read_newest,
    read_plan_glazes,
    tile_formula,
    tile_glaze,
)
from studiolog.journal.writing import clean_name, get
from studiolog.problems import UserProblem
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.plans import TestPlan
from studiolog.records.programs import Program

MIXED_KINDS = (*BLENDS, "additions")
_LONGEST_CODE = 8
_MOST_DRY_G = 100_000.0


@dataclass(frozen=True, kw_only=True)
class CornerDraft:
    """A glaze a plan starts from. Without a gravity its usual one, without a label its name."""

    glaze_id: int
    specific_gravity: float | None = None
    label: str = ""


@dataclass(frozen=True, kw_only=True)
class PlanDraft:
    """A plan as it is entered. Without a code it gets the next free letter."""

    name: str
    kind: str
    corners: tuple[CornerDraft, ...]
    made_on: date
    code: str = ""
    options: PlanOptions = field(default_factory=PlanOptions)
    clay_id: int | None = None
    form_id: int | None = None
    program_id: int | None = None
    cone: str = ""
    tile_dry_g: float | None = None
    question: str = ""


@dataclass(frozen=True)
class PreviewTile:
    """A tile as it would be: ``recipe`` is empty where it is glazed from buckets as they are."""

    position: int
    row: int
    column: int
    code: str
    words: str
    shares: tuple[float, ...]
    recipe: tuple[BlendPart, ...]
    colour: str
    pattern: int
    formula: TileFormula | None
    layers: tuple["PreviewLayer", ...]


@dataclass(frozen=True)
class PreviewLayer:
    """A layer a tile is to get, from the clay outward."""

    title: str
    colour: str
    pattern: int
    method: str | None
    coats: int | None
    seconds: float | None


@dataclass(frozen=True)
class PreviewCorner:
    """A glaze the plan starts from; ``computed`` is one that is made for the plan."""

    label: str
    glaze_id: int | None
    recipe: tuple[BlendPart, ...]
    colour: str
    pattern: int
    formula: TileFormula
    computed: bool
    specific_gravity: float | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlanPreview:
    """A plan as it would be, with nothing stored. ``base`` is what corners are computed from."""

    code: str
    layout: Layout
    tiles: tuple[PreviewTile, ...]
    corners: tuple[PreviewCorner, ...]
    mixing: PlanMixing | None
    remarks: tuple[str, ...]
    base: PreviewCorner | None = None


@dataclass(frozen=True)
class WorkedPlan:
    """A plan worked out: what a preview shows and what is written."""

    name: str
    code: str
    options: PlanOptions
    layout: Layout
    corners: tuple[PlanGlaze, ...]
    base: PlanGlaze | None
    glazes: tuple[TileGlaze | None, ...]
    mixing: PlanMixing | None
    tile_dry_g: float
    limits: Limits


def next_code(session: Session) -> str:
    """The first letter no plan has as its code: A, B … Z, AA, AB …"""
    taken = {code.upper() for code in session.scalars(select(TestPlan.code))}
    number = 1
    while (code := _letters(number)) in taken:
        number += 1
    return code


def _letters(number: int) -> str:
    found = ""
    while number:
        number, place = divmod(number - 1, 26)
        found = chr(ord("A") + place) + found
    return found


def preview_plan(session: Session, draft: PlanDraft) -> PlanPreview:
    """A plan as it would be made: tiles, recipes, formulas and mixing; nothing is stored.

    Raises `UserProblem`, with the fields in question, for what can't be.
    """
    worked = work_out(session, draft)
    tiles = tuple(
        _preview_tile(tile, glaze, worked)
        for tile, glaze in zip(worked.layout.tiles, worked.glazes, strict=True)
    )
    return PlanPreview(
        worked.code,
        worked.layout,
        tiles,
        tuple(_preview_corner(corner, worked.limits) for corner in worked.corners),
        worked.mixing,
        _remarks(worked),
        _preview_corner(worked.base, worked.limits) if worked.base is not None else None,
    )


def _preview_tile(tile: LayoutTile, glaze: TileGlaze | None, worked: WorkedPlan) -> PreviewTile:
    layers = []
    for one in tile.layers:
        if one.corner is not None:
            corner = worked.corners[one.corner]
            look = (corner.label, corner.colour, corner.pattern)
        else:
            assert glaze is not None
            look = (trial_name(worked.code, tile.position), glaze.colour, glaze.pattern)
        layers.append(PreviewLayer(*look, one.method, one.coats, one.seconds))
    formula = _formula(glaze, worked.limits) if glaze is not None else None
    alone = tile.layers[0].corner if len(tile.layers) == 1 else None
    if glaze is None and alone is not None:
        formula = _formula(worked.corners[alone], worked.limits)
    outermost = layers[-1]
    return PreviewTile(
        tile.position,
        tile.row,
        tile.column,
        tile_code(worked.code, tile.position),
        tile.words,
        tile.shares,
        glaze.recipe if glaze is not None else (),
        outermost.colour,
        outermost.pattern,
        formula,
        tuple(layers),
    )


def _formula(glaze: TileGlaze | PlanGlaze, limits: Limits) -> TileFormula:
    return tile_formula(compute_formula(0, glaze.analyses, limits))


def _preview_corner(corner: PlanGlaze, limits: Limits) -> PreviewCorner:
    return PreviewCorner(
        corner.label, corner.glaze_id, corner.recipe, corner.colour, corner.pattern,
        _formula(corner, limits), corner.glaze_id is None, corner.specific_gravity,
        corner.notes,
    )  # fmt: skip


def _remarks(worked: WorkedPlan) -> tuple[str, ...]:
    told: list[str] = []
    if worked.layout.kind == "silica_alumina":
        told.append(say_weighting(worked.layout, worked.corners, equal=worked.options.equal_weight))
    missing = {name for corner in worked.corners for name in corner.analyses.missing}
    if missing and worked.layout.kind in MIXED_KINDS:
        told.append(
            f"No analysis of {', '.join(sorted(missing))} is known, so there are no formulas of "
            "the tiles: add one in Materials."
        )
    if worked.mixing is not None:
        told.extend(worked.mixing.remarks)
    return tuple(told)


def say_weighting(layout: Layout, corners: Sequence[PlanGlaze], *, equal: bool) -> str:
    """How a silica by alumina grid is weighed, and how far equal dry weights would be off."""
    grams = [corner.flux_grams or 1.0 for corner in corners]
    aims = [layout.tiles[place].aim for place in corner_places(layout)]
    silica = [aim[0] if aim is not None else 0.0 for aim in aims]
    off = 0.0
    for shares in (tile for row in grid_shares(layout.rows, layout.columns) for tile in row):
        wanted = sum(share * one for share, one in zip(shares, silica, strict=True))
        off = max(off, abs(blended_moles(shares, silica, grams) - wanted))
    if equal:
        return (
            "The corners are blended by equal dry weight: tiles between them are up to "
            f"{off:.2f} mol SiO₂ off the grid."
        )
    return (
        "The corners are weighed by the flux they bring, so every tile lies on the grid; by equal "
        f"dry weight tiles would be up to {off:.2f} mol SiO₂ off."
    )


def corner_places(layout: Layout) -> tuple[int, int, int, int]:
    """Where in a grid's tiles its corners stand, counted from 0."""
    last = layout.rows * layout.columns - 1
    return (0, layout.columns - 1, last - layout.columns + 1, last)


def work_out(session: Session, draft: PlanDraft) -> WorkedPlan:
    """All that a plan comes to, with nothing stored. Raises as `preview_plan` does."""
    name = clean_name(draft.name, noun="name of the plan")
    draft = replace(draft, options=_clean_options(draft.kind, draft.options))
    code = check_code(session, draft.code)
    limits = read_limits(session)
    _check_laying(draft.options)
    _check_refers(session, draft)
    dry_g = draft.tile_dry_g if draft.tile_dry_g is not None else limits["plan_tile_dry_g"]
    check_tile_dry_g(dry_g)
    _check_kind(draft)
    asked = [(one.glaze_id, one.label, one.specific_gravity) for one in draft.corners]
    for _, _, gravity in asked:
        if gravity is not None:
            check_gravity(gravity)
    given = read_plan_glazes(session, asked, limits)
    _check_apart(given)
    mixed = draft.kind in MIXED_KINDS
    blend_by = draft.options.blend_by
    if mixed:
        for one in given:
            check_corner(one.as_mixed(), blend_by)
    # The shape is checked before four corners are computed for it.
    labels = [one.label for one in given]
    layout = lay_out_plan(draft.kind, labels, draft.options, limits=limits)
    corners, base = given, None
    if draft.kind == "silica_alumina":
        base = given[0]
        corners = compute_corners(session, base, draft.options, limits)
        grams = [one.flux_grams or 0.0 for one in corners]
        layout = lay_out_plan(draft.kind, labels, draft.options, flux_grams=grams, limits=limits)
    mixing = None
    if mixed:
        mixing = mix_plan(
            layout, [one.as_mixed() for one in corners], code=code, tile_dry_g=dry_g,
            blend_by=blend_by, limits=limits,
        )  # fmt: skip
    added = read_newest(session, [one.material for one in draft.options.ladders])
    glazes = tuple(tile_glaze(tile, corners, added) if mixed else None for tile in layout.tiles)
    _check_names(session, code, layout, glazes, computed=base is not None)
    return WorkedPlan(
        name, code, draft.options, layout, corners, base, glazes, mixing, dry_g, limits
    )  # fmt: skip


def check_gravity(specific_gravity: float) -> None:
    """Raises `UserProblem` for what is no specific gravity of a slurry."""
    if not 1.0 < specific_gravity < 3.0:
        sentence = f"A specific gravity lies between 1 and 3; {specific_gravity:g} does not."
        raise UserProblem(sentence, {"specific_gravity": sentence})


def check_tile_dry_g(dry_g: float) -> None:
    """Raises `UserProblem` for what is no weight of a tile's dry glaze."""
    if not (math.isfinite(dry_g) and 0 < dry_g <= _MOST_DRY_G):
        most = show_quantity(_MOST_DRY_G / 1000, "kg")
        sentence = f"The dry glaze of a tile is more than 0 g and at most {most}."
        raise UserProblem(sentence, {"tile_dry_g": sentence})


def _check_kind(draft: PlanDraft) -> None:
    if draft.kind not in PLAN_KINDS:
        known = ", ".join(PLAN_KINDS.values())
        raise UserProblem(f"“{draft.kind}” is no kind of plan: {known}.", {"kind": known})
    if len(draft.corners) < CORNERS[draft.kind][0] or len(draft.corners) > CORNERS[draft.kind][1]:
        # Told by the layout, which knows what the kind needs.
        lay_out_plan(draft.kind, [""] * len(draft.corners), draft.options)


def _clean_options(kind: str, options: PlanOptions) -> PlanOptions:
    """With the names of materials as they will be kept, where the kind uses any."""
    ladders = options.ladders if kind == "additions" else ()
    shelf = options.shelf if kind == "silica_alumina" else ()
    return replace(
        options,
        ladders=tuple(
            replace(one, material=clean_name(one.material, "ladders", "material that is added"))
            for one in ladders
        ),
        shelf=tuple(clean_name(one, "shelf", "material") for one in shelf),
    )


def _check_laying(options: PlanOptions) -> None:
    told: dict[str, str] = {}
    if not (options.zone.strip() and options.over_zone.strip()):
        told["zone"] = "Say which zone of a tile is glazed."
    if options.method is not None and options.method not in METHODS:
        told["method"] = f"“{options.method}” is not a method: {', '.join(METHODS.values())}."
    if options.coats is not None and not 1 <= options.coats <= 50:
        told["coats"] = "Coats are 1 to 50."
    if options.seconds is not None and not 0 < options.seconds <= 3600:
        told["seconds"] = "A dip takes more than 0 seconds, and less than an hour."
    if told:
        raise UserProblem(next(iter(told.values())), told)


def _check_refers(session: Session, draft: PlanDraft) -> None:
    for kind, row_id in ((Clay, draft.clay_id), (Form, draft.form_id), (Program, draft.program_id)):
        if row_id is not None:
            get(session, kind, row_id)
    clean_cone(draft.cone)


def clean_cone(cone: str) -> str:
    """A cone as it is kept, "" for none. Raises `UserProblem` for one that is not there."""
    return parse_cone(cone) if cone.strip() else ""


def _check_apart(glazes: Sequence[PlanGlaze]) -> None:
    seen: set[int | None] = set()
    for glaze in glazes:
        if glaze.glaze_id in seen:
            sentence = f"{glaze.label} is named twice: each glaze stands in a plan once."
            raise UserProblem(sentence, {"corners": sentence})
        seen.add(glaze.glaze_id)


def check_code(session: Session, code: str, but: int = 0) -> str:
    """A code as it is written on tiles; for an empty one the next free letter.

    ``but`` is the plan whose own code it may be. Raises `UserProblem` for one that is taken, too
    long, or reads like a tile of another plan.
    """
    cleaned = "".join(code.split())
    if not cleaned:
        return next_code(session)
    sentence = ""
    if len(cleaned) > _LONGEST_CODE or not cleaned.isalnum():
        sentence = f"A code is up to {_LONGEST_CODE} letters, for it is written on each tile."
    elif cleaned[-1].isdigit():
        sentence = (
            f"A code ends with a letter: tile 2 of “{cleaned}” would read {cleaned}2, as if it "
            f"were tile {cleaned[-1]}2 of another plan."
        )
    else:
        same = select(TestPlan.name).where(reads_as(TestPlan.code, cleaned), TestPlan.id != but)
        taken = session.scalar(same)
        if taken is not None:
            sentence = f"The plan “{taken}” has the code {cleaned} already: take another."
    if sentence:
        raise UserProblem(sentence, {"code": sentence})
    return cleaned


def _check_names(
    session: Session,
    code: str,
    layout: Layout,
    glazes: Sequence[TileGlaze | None],
    *,
    computed: bool,
) -> None:
    names = {
        trial_name(code, tile.position).casefold()
        for tile, glaze in zip(layout.tiles, glazes, strict=True)
        if glaze is not None and (computed or glaze.corner is None)
    }
    alike = session.scalars(select(Glaze.name).where(contains(Glaze.name, f"{code}-")))
    taken = next((name for name in alike if name.casefold() in names), None)
    if taken is not None:
        sentence = f"There is a glaze named {taken} already: give the plan another code."
        raise UserProblem(sentence, {"code": sentence})
