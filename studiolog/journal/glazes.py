"""Glazes, recipes, versions and buckets: what a potter does with them."""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from math import isfinite
from typing import Any

from sqlalchemy import func, literal, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.materials import fold_name
from studiolog.journal.analyses import lot_in_force
from studiolog.journal.asked_for import say_asked_for
from studiolog.journal.layer_words import GlazeName
from studiolog.journal.letters import reads_as
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import EditConflict, StillUsed, UserProblem
from studiolog.records.glazes import Bucket, BucketChange, BucketLine, Glaze, RecipeLine
from studiolog.records.materials import MaterialLot, StockChange
from studiolog.records.pieces import Layer, Piece
from studiolog.records.plans import PlanCorner, PlanLayer, PlanTile, TestPlan

PATTERNS = 8
# Offered in turn until the potter picks the glaze's own colour.
NEW_COLOURS = ("#8A8A80", "#5F7F73", "#B08A4A", "#5A6F8C", "#9A5F4C", "#C9BFA5", "#4E4A45")


@dataclass(frozen=True)
class RecipePart:
    """So many parts of a material; an addition stands on top of the hundred.

    ``lot_id``: the analysis it is computed with. Written as None, an unchanged material keeps the
    lot it had, another gets the lot in force.
    """

    material: str
    parts: float
    addition: bool = False
    lot_id: int | None = field(default=None, compare=False)


@dataclass(frozen=True, kw_only=True)
class GlazeDraft:
    """A glaze as it is entered; without a colour it gets the next of `NEW_COLOURS`."""

    name: str
    kind: str = "glaze"
    bought: bool = False
    colour: str = ""
    cone_range: str = ""
    specific_gravity: float | None = None
    notes: str = ""
    recipe: tuple[RecipePart, ...] = ()


@dataclass(frozen=True)
class GlazeLine:
    """A glaze in a list or a picker. ``title`` names the version where there are several."""

    glaze_id: int
    version: int
    name: str
    title: str
    kind: str
    colour: str
    pattern: int
    cone_range: str
    archived: bool
    pieces: int


def title_of(name: str, version_number: int) -> str:
    """How a glaze version is called: "Kelp", then "Kelp, version 2"."""
    return name if version_number == 1 else f"{name}, version {version_number}"


def add_glaze(session: Session, draft: GlazeDraft) -> int:
    """Enter a glaze; returns its id. It gets the next of the eight patterns."""
    name = clean_name(draft.name, noun="name of the glaze")
    _refuse_taken_name(session, name)
    entered = count(session, Glaze, Glaze.trial.is_(False))
    glaze_id = add(
        session,
        Glaze(
            name=name,
            kind=draft.kind,
            bought=draft.bought,
            colour=draft.colour or NEW_COLOURS[entered % len(NEW_COLOURS)],
            pattern=entered % PATTERNS,
            cone_range=draft.cone_range,
            specific_gravity=draft.specific_gravity,
            notes=draft.notes,
        ),
    )
    _write_recipe(session, glaze_id, draft.recipe)
    return glaze_id


def _refuse_taken_name(session: Session, name: str, but: Collection[int] = ()) -> None:
    taken = session.scalar(select(Glaze.id).where(reads_as(Glaze.name, name), Glaze.id.not_in(but)))
    if taken is not None:
        sentence = (
            f"There is a glaze named {name} already; a changed recipe is a new version of it."
        )
        raise UserProblem(sentence, {"name": sentence})


def _write_recipe(
    session: Session,
    glaze_id: int,
    recipe: Sequence[RecipePart],
    kept_lots: Mapping[str, Sequence[int | None]] | None = None,
) -> None:
    """``kept_lots``: material (folded) -> the lots its lines had, None for a line that had none."""
    kept = {material: list(lots) for material, lots in (kept_lots or {}).items()}
    for position, part in enumerate(recipe, start=1):
        if not (part.parts > 0 and isfinite(part.parts)):
            raise UserProblem(f"{part.material}: parts must be more than 0.")
        material = clean_name(part.material, noun="material")
        add(
            session,
            RecipeLine(
                glaze_id=glaze_id,
                position=position,
                material=material,
                parts=part.parts,
                addition=part.addition,
                lot_id=_lot_for(session, part, material, kept),
            ),
        )


def _lot_for(
    session: Session, part: RecipePart, material: str, kept: Mapping[str, list[int | None]]
) -> int | None:
    """The lot asked for, else the one kept, else the one in force.

    Of several lines of one material each takes the next of ``kept``; the last serves what is more.
    """
    lots = kept.get(fold_name(material), [])
    own = lots.pop(0) if len(lots) > 1 else next(iter(lots), None)
    if part.lot_id is not None:
        if session.get(MaterialLot, part.lot_id) is None:
            raise UserProblem(f"{material}: the lot asked for is no longer in the journal.")
        return part.lot_id
    return own if lots else lot_in_force(session, material)


def _lots_of_recipe(session: Session, glaze_id: int) -> dict[str, list[int | None]]:
    lines = session.scalars(
        select(RecipeLine)
        .where(RecipeLine.glaze_id == glaze_id)
        .order_by(RecipeLine.addition, RecipeLine.position)
    )
    kept: dict[str, list[int | None]] = defaultdict(list)
    for line in lines:
        kept[fold_name(line.material)].append(line.lot_id)
    return kept


def change_glaze(
    session: Session, glaze_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a glaze (not its recipe: see `set_recipe` and `add_version`).

    A new name goes to all its versions.
    """
    if "name" in fields:
        name = clean_name(fields.pop("name"), noun="name of the glaze")
        glaze = get(session, Glaze, glaze_id, version)
        versions = select(Glaze).where(Glaze.name == glaze.name).order_by(Glaze.version_number)
        family = list(session.scalars(versions))
        _refuse_taken_name(session, name, but={one.id for one in family})
        for one in family:
            change(session, Glaze, one.id, name=name)
        version = None
    if fields:
        change(session, Glaze, glaze_id, version, **fields)


def set_recipe(
    session: Session,
    glaze_id: int,
    recipe: Sequence[RecipePart],
    seen: Sequence[RecipePart] | None = None,
) -> None:
    """Write the recipe of a glaze that no piece carries yet.

    A line whose material stays keeps the lot it was computed with. ``seen`` is the recipe that was
    shown while it was changed. Raises `StillUsed` once pieces carry it: a changed recipe is then a
    new version; and `EditConflict` if it is another by now than was seen.
    """
    glaze = get(session, Glaze, glaze_id)
    used = _pieces_with(session, glaze_id)
    had = count(session, RecipeLine, RecipeLine.glaze_id == glaze_id)
    if used and had:
        raise StillUsed(
            f"{_say_carry(used)} {title_of(glaze.name, glaze.version_number)} as it is. "
            "Make a new version to change the recipe."
        )
    plans = plans_with(session, glaze_id)
    if plans and had:
        raise StillUsed(
            f"The test plan “{plans[0]}” is made with {title_of(glaze.name, glaze.version_number)} "
            "as it is. Make a new version to change the recipe."
        )
    _refuse_unseen(session, glaze, seen)
    kept = _lots_of_recipe(session, glaze_id)
    remove_all(session, RecipeLine, RecipeLine.glaze_id == glaze_id)
    _write_recipe(session, glaze_id, recipe, kept)


def _refuse_unseen(session: Session, glaze: Glaze, seen: Sequence[RecipePart] | None) -> None:
    lines = session.scalars(select(RecipeLine).where(RecipeLine.glaze_id == glaze.id))
    now = Counter((fold_name(line.material), line.parts, line.addition) for line in lines)
    was = Counter((fold_name(one.material), one.parts, one.addition) for one in seen or ())
    if seen is not None and now != was:
        raise EditConflict(
            f"The recipe of {title_of(glaze.name, glaze.version_number)} was changed somewhere "
            "else in the meantime. Look at it as it is now, then make the change again."
        )


def add_version(session: Session, glaze_id: int, recipe: Sequence[RecipePart]) -> int:
    """A changed recipe as a new version with its parent; returns the new glaze's id.

    A material the parent has keeps the parent's lot, unless the recipe names another.
    """
    parent = get(session, Glaze, glaze_id)
    newest = session.scalar(select(func.max(Glaze.version_number)).where(Glaze.name == parent.name))
    new_id = add(
        session,
        Glaze(
            name=parent.name,
            version_number=int(newest or 1) + 1,
            parent_id=parent.id,
            kind=parent.kind,
            bought=parent.bought,
            colour=parent.colour,
            pattern=count(session, Glaze, Glaze.trial.is_(False)) % PATTERNS,
            cone_range=parent.cone_range,
            specific_gravity=parent.specific_gravity,
            notes="",
        ),
    )
    _write_recipe(session, new_id, recipe, _lots_of_recipe(session, parent.id))
    return new_id


def copy_as_version(session: Session, glaze_id: int) -> int:
    """A new version that starts from the recipe of ``glaze_id``, with its lots; returns its id."""
    lines = session.scalars(
        select(RecipeLine).where(RecipeLine.glaze_id == glaze_id).order_by(RecipeLine.position)
    )
    recipe = [RecipePart(line.material, line.parts, line.addition, line.lot_id) for line in lines]
    return add_version(session, glaze_id, recipe)


def add_bucket(
    session: Session,
    glaze_id: int,
    mixed_on: date,
    *,
    dry_g: float | None = None,
    water_g: float | None = None,
    specific_gravity: float | None = None,
    adjustments: str = "",
) -> int:
    """A bucket mixed on a day; returns its id."""
    get(session, Glaze, glaze_id)
    return add(
        session,
        Bucket(
            glaze_id=glaze_id,
            mixed_on=mixed_on,
            dry_g=dry_g,
            water_g=water_g,
            specific_gravity=specific_gravity,
            adjustments=adjustments,
        ),
    )


def change_bucket(
    session: Session, bucket_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a bucket."""
    change(session, Bucket, bucket_id, version, **fields)


def delete_bucket(session: Session, bucket_id: int) -> None:
    """Delete a bucket nothing was glazed from, with its history; its stock comes back.

    Raises `StillUsed` if something was glazed from it.
    """
    bucket = get(session, Bucket, bucket_id)
    layers = count(session, Layer, Layer.bucket_id == bucket_id)
    if layers:
        raise StillUsed(
            f"The bucket of {bucket.mixed_on.isoformat()} can't be deleted: {layers} layers were "
            "laid from it. Mark it as used up instead."
        )
    _remove_bucket(session, bucket)


def _remove_bucket(session: Session, bucket: Bucket) -> None:
    remove_all(session, StockChange, StockChange.bucket_id == bucket.id)
    remove_all(session, BucketChange, BucketChange.bucket_id == bucket.id)
    remove_all(session, BucketLine, BucketLine.bucket_id == bucket.id)
    remove(session, bucket)


def _pieces_with(session: Session, glaze_id: int) -> int:
    return int(
        session.scalar(
            select(func.count(Layer.piece_id.distinct())).where(Layer.glaze_id == glaze_id)
        )
        or 0
    )


def delete_glaze(session: Session, glaze_id: int) -> None:
    """Delete a glaze nothing carries. Raises `StillUsed` naming what does."""
    glaze = get(session, Glaze, glaze_id)
    title = title_of(glaze.name, glaze.version_number)
    numbers = session.scalars(
        select(Piece.number)
        .join(Layer, Layer.piece_id == Piece.id)
        .where(Layer.glaze_id == glaze_id)
        .distinct()
        .order_by(Piece.number)
    ).all()
    if numbers:
        named = [str(number) for number in numbers if number is not None][:5]
        which = f" ({', '.join(named)}{' …' if len(numbers) > len(named) else ''})" if named else ""
        carry = _say_carry(len(numbers))
        raise StillUsed(
            f"{title} can't be deleted: {carry} it{which}. Archive it to hide it from the pickers."
        )
    if count(session, Glaze, Glaze.parent_id == glaze_id):
        raise StillUsed(f"{title} can't be deleted: a later version came from it.")
    asked = say_asked_for(session, glaze_id=glaze_id)
    if asked:
        raise StillUsed(
            f"{title} can't be deleted: {asked}. Archive it to hide it from the pickers."
        )
    _refuse_planned(session, glaze_id, title)
    for bucket in session.scalars(select(Bucket).where(Bucket.glaze_id == glaze_id)).all():
        _remove_bucket(session, bucket)
    remove_all(session, RecipeLine, RecipeLine.glaze_id == glaze_id)
    remove(session, glaze)


def _say_carry(pieces: int) -> str:
    return "1 piece carries" if pieces == 1 else f"{pieces} pieces carry"


def _refuse_planned(session: Session, glaze_id: int, title: str) -> None:
    named = plans_with(session, glaze_id)
    if named:
        more = f" and {len(named) - 1} more" if len(named) > 1 else ""
        raise StillUsed(
            f"{title} can't be deleted: the test plan “{named[0]}”{more} is made with it. "
            "Archive it to hide it from the pickers."
        )


def plans_with(session: Session, glaze_id: int) -> tuple[str, ...]:
    """The names of the test plans that are made with a glaze, in order of entry."""
    tiles = select(PlanTile.plan_id).join(PlanLayer, PlanLayer.tile_id == PlanTile.id)
    corners = select(PlanCorner.plan_id).where(PlanCorner.glaze_id == glaze_id)
    named = session.scalars(
        select(TestPlan.name)
        .where(
            or_(
                TestPlan.id.in_(tiles.where(PlanLayer.glaze_id == glaze_id)),
                TestPlan.id.in_(corners),
            )
        )
        .order_by(TestPlan.id)
    ).all()
    return tuple(named)


def read_glaze_names(session: Session) -> tuple[GlazeName, ...]:
    """The glazes a typed line may name: those in use, but none of single test tiles."""
    rows = session.execute(
        select(Glaze.id, Glaze.name, Glaze.version_number)
        .where(Glaze.archived.is_(False), Glaze.trial.is_(False))
        .order_by(Glaze.id)
    )
    return tuple(GlazeName(row.id, title_of(row.name, row.version_number)) for row in rows)


def list_glazes(
    session: Session,
    *,
    archived: bool = False,
    counted: bool = True,
    trial: bool = False,
    kept: Collection[int] = (),
) -> list[GlazeLine]:
    """Glazes in order of entry; archived ones, and those of single test tiles, only if asked for.

    ``counted`` False leaves the pieces of each at 0: counting them looks at every layer there is.
    ``kept`` are listed whatever they are.
    """
    used = (
        select(Layer.glaze_id, func.count(Layer.piece_id.distinct()).label("pieces"))
        .group_by(Layer.glaze_id)
        .subquery()
    )
    query = (
        select(Glaze, func.coalesce(used.c.pieces, 0)).outerjoin(used, used.c.glaze_id == Glaze.id)
        if counted
        else select(Glaze, literal(0))
    ).order_by(Glaze.archived, Glaze.id)
    if not archived:
        query = query.where(or_(Glaze.archived.is_(False), Glaze.id.in_(kept)))
    if not trial:
        query = query.where(or_(Glaze.trial.is_(False), Glaze.id.in_(kept)))
    return [
        GlazeLine(
            glaze.id,
            glaze.version,
            glaze.name,
            title_of(glaze.name, glaze.version_number),
            glaze.kind,
            glaze.colour,
            glaze.pattern,
            glaze.cone_range,
            glaze.archived,
            pieces,
        )
        for glaze, pieces in session.execute(query)
    ]
