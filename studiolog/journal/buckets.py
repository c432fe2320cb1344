"""The buckets of a glaze: what was done to each, what is in it today, what it still glazes.

The sums are those of ``craft/glaze``: ``bucket_state`` follows a bucket, ``ware_use`` tells the use
per piece, ``slurry`` the rest.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.bucket_state import (
    BucketEvent,
    BucketState,
    follow_bucket,
    mixed_state,
)
from studiolog.craft.glaze.slurry import (
    SolidDensity,
    dry_g_per_litre,
    dry_to_reach,
    recipe_density,
    water_to_draw_off,
    water_to_reach,
)
from studiolog.craft.glaze.ware_use import UsePerPiece, pieces_left
from studiolog.craft.words import BUCKET_CHANGES
from studiolog.journal.bucket_stock import give_back, take_for_change
from studiolog.journal.glazes import title_of
from studiolog.journal.limits import read_limits
from studiolog.journal.material_cost import MaterialCost, cost_recipe
from studiolog.journal.mixing import read_densities
from studiolog.journal.stock import read_stock
from studiolog.journal.studio import read_currency
from studiolog.journal.ware_use import FormUse, read_forms_of, read_use
from studiolog.journal.writing import add, change, get, remove
from studiolog.problems import UserProblem
from studiolog.records.firings import Firing
from studiolog.records.glazes import Bucket, BucketChange, BucketLine, Glaze, RecipeLine
from studiolog.records.pieces import Layer, Piece, Placement, StageChange

_GRAMS = ("water", "dry")
_MOST_G = 1_000_000.0


@dataclass(frozen=True, kw_only=True)
class ChangeDraft:
    """What was done to a bucket, or measured of it, as it is entered."""

    on: date
    kind: str
    specific_gravity: float | None = None
    volume_ml: float | None = None
    grams: float | None = None
    mesh: int | None = None
    material: str = ""
    note: str = ""


@dataclass(frozen=True)
class ChangeLine:
    """A row of a bucket's history."""

    change_id: int
    version: int
    on: date
    kind: str
    specific_gravity: float | None
    volume_ml: float | None
    grams: float | None
    mesh: int | None
    material: str
    note: str


@dataclass(frozen=True)
class WeighedLine:
    """What was weighed into a bucket; ``weighed_g`` None: only what was wanted is known."""

    material: str
    wanted_g: float
    weighed_g: float | None


@dataclass(frozen=True, kw_only=True)
class BucketPage:
    """A bucket with its history, the newest row first, and what is in it today.

    ``dry_range_g`` is from the least to the most, as the use per piece spreads. ``pieces_left``
    likewise, None where it is not known; ``left_by_form`` the same for forms that were weighed.
    """

    bucket_id: int
    version: int
    mixed_on: date
    dry_g: float | None
    water_g: float | None
    specific_gravity: float | None
    adjustments: str
    used_up: bool
    layers: int
    lines: tuple[WeighedLine, ...]
    changes: tuple[ChangeLine, ...]
    state: BucketState
    dry_range_g: tuple[float, float] | None = None
    pieces_left: tuple[int, int] | None = None
    left_by_form: tuple[tuple[str, tuple[int, int]], ...] = ()


@dataclass(frozen=True, kw_only=True)
class GlazeBuckets:
    """All buckets of a glaze, the newest first, and what holds for each of them.

    ``target`` is the glaze's usual specific gravity. ``use`` None: not known. ``odd`` counts pieces
    that weighed no more glazed than before; they are left out.
    """

    glaze_id: int
    title: str
    has_recipe: bool
    target: float | None
    density: SolidDensity
    use: UsePerPiece | None
    stated_g: float | None = None
    use_by_form: tuple[FormUse, ...] = ()
    odd: int = 0
    cost: MaterialCost = field(default_factory=lambda: MaterialCost(None))
    buckets: tuple[BucketPage, ...] = ()

    def bucket(self, bucket_id: int) -> BucketPage | None:
        """One of them."""
        return next((one for one in self.buckets if one.bucket_id == bucket_id), None)

    def dry_g_per_l(self, specific_gravity: float) -> float | None:
        """Dry grams in a litre of this glaze; None at a specific gravity it can't have."""
        if specific_gravity >= self.density.g_per_ml:
            return None
        return dry_g_per_litre(specific_gravity, self.density.g_per_ml)


@dataclass(frozen=True)
class Correction:
    """What brings a slurry to its target; ``per_litre`` if its volume is not known.

    ``kind`` is ``water``, ``dry`` or ``""`` where it is there within a hundredth. ``draw_off_g`` of
    clear water off settled slurry would do in place of dry glaze.
    """

    kind: str
    grams: float
    target: float
    per_litre: bool = False
    draw_off_g: float | None = None


def find_correction(
    specific_gravity: float,
    target: float,
    volume_ml: float | None,
    solid_density: float,
) -> Correction:
    """What to add to bring slurry to a target. Raises `UserProblem` for what no slurry is."""
    per_litre = volume_ml is None
    volume = 1000.0 if volume_ml is None else volume_ml
    if abs(specific_gravity - target) < _NEAR:
        return Correction("", 0.0, target, per_litre)
    if specific_gravity > target:
        return Correction(
            "water", water_to_reach(volume, specific_gravity, target), target, per_litre
        )
    grams = dry_to_reach(volume, specific_gravity, target, solid_density)
    drawn = water_to_draw_off(volume, specific_gravity, target)
    return Correction("dry", grams, target, per_litre, drawn)


_NEAR = 0.005
"""Nearer than this is at the target: half of the last place a potter reads."""


# What is done to a bucket


def add_change(session: Session, bucket_id: int, draft: ChangeDraft) -> int:
    """Enter what was done to a bucket or measured of it; returns its id. Raises `UserProblem`.

    What was added is taken from the stock, where it is on the shelf.
    """
    bucket = get(session, Bucket, bucket_id)
    _check(bucket, draft)
    change_id = add(session, BucketChange(bucket_id=bucket_id, **_fields(draft)))
    take_for_change(session, change_id)
    return change_id


def change_change(
    session: Session, change_id: int, version: int | None, draft: ChangeDraft
) -> None:
    """Correct a row of a bucket's history, and what it took. Raises `UserProblem`."""
    row = get(session, BucketChange, change_id, version)
    _check(get(session, Bucket, row.bucket_id), draft)
    change(session, BucketChange, change_id, version, **_fields(draft))
    give_back(session, change_id)
    take_for_change(session, change_id)


def delete_change(session: Session, change_id: int) -> None:
    """Take a row out of a bucket's history; what it took from the stock comes back."""
    give_back(session, change_id)
    remove(session, get(session, BucketChange, change_id))


def _fields(draft: ChangeDraft) -> dict[str, Any]:
    return {
        "changed_on": draft.on,
        "kind": draft.kind,
        "specific_gravity": draft.specific_gravity,
        "volume_ml": draft.volume_ml,
        "grams": draft.grams,
        "mesh": draft.mesh,
        "material": " ".join(draft.material.split()),
        "note": draft.note.strip(),
    }


def _check(bucket: Bucket, draft: ChangeDraft) -> None:
    def refuse(name: str, sentence: str) -> None:
        raise UserProblem(sentence, {name: sentence})

    if draft.kind not in BUCKET_CHANGES:
        known = ", ".join(BUCKET_CHANGES.values())
        refuse("kind", f"“{draft.kind}” is nothing that is done to a bucket; it is {known}.")
    if draft.on < bucket.mixed_on:
        refuse("on", f"The bucket was mixed on {bucket.mixed_on.isoformat()}: give a later day.")
    gravity, volume, grams = draft.specific_gravity, draft.volume_ml, draft.grams
    if gravity is not None and not 1.0 < gravity < 3.0:
        refuse("specific_gravity", "A specific gravity lies above 1 and below 3; 1.45 is usual.")
    if volume is not None and not 0 <= volume <= _MOST_G:
        refuse("volume_ml", "A volume lies between 0 and 1000 litres.")
    if grams is not None and not 0 <= grams <= _MOST_G:
        refuse("grams", "Grams lie between 0 and a million.")
    if draft.mesh is not None and not 0 < draft.mesh < 10_000:
        refuse("mesh", "A mesh is a whole number above 0, such as 80.")
    if draft.kind == "measured" and gravity is None and volume is None:
        refuse("specific_gravity", "Give the specific gravity or the volume that was measured.")
    if draft.kind in _GRAMS and not grams:
        refuse("grams", f"Give the grams of {'water' if draft.kind == 'water' else 'dry glaze'}.")
    if draft.kind == "other" and not draft.note.strip():
        refuse("note", "Say what was done.")


# What is known of them


def read_glaze_buckets(session: Session, glaze_id: int) -> GlazeBuckets | None:
    """The buckets of a glaze; None if the glaze is gone."""
    glaze = session.get(Glaze, glaze_id)
    if glaze is None:
        return None
    lines = session.scalars(select(RecipeLine).where(RecipeLine.glaze_id == glaze_id)).all()
    parts: dict[str, float] = {}
    for line in lines:
        parts[line.material] = parts.get(line.material, 0.0) + line.parts
    limits = read_limits(session)
    density = recipe_density(
        parts, read_densities(session, list(parts)), usual=limits["solid_density"]
    )
    used = read_use(session, glaze)
    use, by_form = used.use, used.by_form
    return GlazeBuckets(
        glaze_id=glaze_id,
        title=title_of(glaze.name, glaze.version_number),
        has_recipe=bool(parts),
        target=glaze.specific_gravity,
        density=density,
        use=use,
        stated_g=glaze.dry_g_per_piece,
        use_by_form=by_form,
        odd=used.odd,
        cost=cost_recipe(parts, read_stock(session), read_currency(session)),
        buckets=_read_buckets(session, glaze_id, density, use, by_form),
    )


def _read_buckets(
    session: Session,
    glaze_id: int,
    density: SolidDensity,
    use: UsePerPiece | None,
    by_form: Sequence[FormUse],
) -> tuple[BucketPage, ...]:
    buckets = session.scalars(
        select(Bucket)
        .where(Bucket.glaze_id == glaze_id)
        .order_by(Bucket.mixed_on.desc(), Bucket.id.desc())
    ).all()
    ids = [bucket.id for bucket in buckets]
    lines: dict[int, list[WeighedLine]] = defaultdict(list)
    for line in session.scalars(
        select(BucketLine).where(BucketLine.bucket_id.in_(ids)).order_by(BucketLine.position)
    ):
        lines[line.bucket_id].append(WeighedLine(line.material, line.wanted_g, line.weighed_g))
    changes: dict[int, list[ChangeLine]] = defaultdict(list)
    for row in session.scalars(
        select(BucketChange)
        .where(BucketChange.bucket_id.in_(ids))
        .order_by(BucketChange.changed_on, BucketChange.id)
    ):
        changes[row.bucket_id].append(_change_line(row))
    layers = {
        bucket_id: count
        for bucket_id, count in session.execute(
            select(Layer.bucket_id, func.count())
            .where(Layer.bucket_id.in_(ids))
            .group_by(Layer.bucket_id)
        )
        if bucket_id is not None
    }
    # What is used up is not followed: nothing is left to be told of it.
    used = [bucket.id for bucket in buckets if not bucket.used_up]
    glazed = select(Layer.piece_id).where(Layer.bucket_id.in_(used))
    pieces: dict[int, set[int]] = defaultdict(set)
    for bucket_id, piece_id in session.execute(
        select(Layer.bucket_id, Layer.piece_id).where(Layer.bucket_id.in_(used))
    ):
        if bucket_id is not None:
            pieces[bucket_id].add(piece_id)
    glazed_on = _days_of_glazing(session, glazed)
    forms = read_forms_of(session, Piece.id.in_(glazed)) if by_form else {}
    uses = {one.form: one.use for one in by_form}
    pages = []
    for bucket in buckets:
        glazings = [
            (glazed_on.get(piece_id, bucket.mixed_on), uses.get(forms.get(piece_id, ""), use))
            for piece_id in sorted(pieces[bucket.id])
        ]
        page = BucketPage(
            bucket_id=bucket.id,
            version=bucket.version,
            mixed_on=bucket.mixed_on,
            dry_g=bucket.dry_g,
            water_g=bucket.water_g,
            specific_gravity=bucket.specific_gravity,
            adjustments=bucket.adjustments,
            used_up=bucket.used_up,
            layers=layers.get(bucket.id, 0),
            lines=tuple(lines[bucket.id]),
            changes=tuple(reversed(changes[bucket.id])),
            state=BucketState(solid_density=density.g_per_ml),
        )
        pages.append(_with_state(page, changes[bucket.id], glazings, use, by_form))
    return tuple(pages)


def _with_state(
    page: BucketPage,
    changes: Sequence[ChangeLine],
    glazings: Sequence[tuple[date, UsePerPiece | None]],
    use: UsePerPiece | None,
    by_form: Sequence[FormUse],
) -> BucketPage:
    events = [
        BucketEvent(one.on, one.kind, one.specific_gravity, one.volume_ml, one.grams)
        for one in changes
    ]
    density = page.state.solid_density
    mixed = mixed_state(page.mixed_on, page.dry_g, page.water_g, page.specific_gravity, density)

    def follow(which: str) -> BucketState:
        taken = [(on, getattr(one, which) if one else None) for on, one in glazings]
        return follow_bucket(mixed, events, taken)

    state = follow("median_g")
    least, most = follow("high_g").dry_g, follow("low_g").dry_g
    page = replace(page, state=state)
    if state.dry_g is None or least is None or most is None:
        return page
    between = (least, most)
    page = replace(page, dry_range_g=between)
    if page.used_up or use is None:
        return page
    return replace(
        page,
        pieces_left=pieces_left(between, use),
        left_by_form=tuple((one.form, pieces_left(between, one.use)) for one in by_form),
    )


def _days_of_glazing(session: Session, pieces: Select[Any]) -> Mapping[int, date]:
    """When each piece was glazed: as written down, else the day its first glaze firing began."""
    found: dict[int, date] = {}
    for piece_id, started in session.execute(
        select(Placement.piece_id, func.min(Firing.started_at))
        .join(Firing, Firing.id == Placement.firing_id)
        .where(Placement.piece_id.in_(pieces), Firing.kind != "bisque")
        .group_by(Placement.piece_id)
    ):
        found[piece_id] = started.date()
    for piece_id, at in session.execute(
        select(StageChange.piece_id, func.min(StageChange.at))
        .where(StageChange.piece_id.in_(pieces), StageChange.stage == "glazed")
        .group_by(StageChange.piece_id)
    ):
        found[piece_id] = at.date()
    return found


def _change_line(row: BucketChange) -> ChangeLine:
    return ChangeLine(
        row.id,
        row.version,
        row.changed_on,
        row.kind,
        row.specific_gravity,
        row.volume_ml,
        row.grams,
        row.mesh,
        row.material,
        row.note,
    )
