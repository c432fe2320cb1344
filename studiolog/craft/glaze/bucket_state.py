"""What is in a bucket today, followed from its mixing through what was measured, added and used.

A measured volume with a specific gravity says what there is, whatever was thought before. A
specific gravity alone says how much water the dry glaze stands in. Between measurements each
glazed piece takes its use away, and water with it as it is in the bucket.

On one day measuring and adding come before glazing: a bucket is stirred and measured before it is
used (common practice).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from studiolog.craft.glaze.slurry import (
    USUAL_SOLID_DENSITY,
    dry_mass_g,
    specific_gravity_of,
    volume_of,
    water_for,
)
from studiolog.problems import UserProblem


@dataclass(frozen=True, slots=True)
class BucketEvent:
    """Something done to a bucket on a day; ``kind`` is a key of ``BUCKET_CHANGES``."""

    on: date
    kind: str
    specific_gravity: float | None = None
    volume_ml: float | None = None
    grams: float | None = None


@dataclass(frozen=True, slots=True)
class BucketState:
    """What is in a bucket; what is not known is None.

    ``basis`` of the dry glaze: ``measured`` (volume and specific gravity on ``basis_on``),
    ``mixed`` (what was weighed into it on ``basis_on``), or "" if nothing tells. ``pieces`` were
    glazed since and are taken off, ``unweighed`` of them at a use that nobody knows, so they are
    not. ``gravity_basis``: ``measured``, ``mixed`` (as it was mixed) or ``computed`` (from what was
    added since). ``emptied``: more was taken out than was in it by these figures.
    """

    dry_g: float | None = None
    water_g: float | None = None
    specific_gravity: float | None = None
    gravity_on: date | None = None
    gravity_basis: str = ""
    basis: str = ""
    basis_on: date | None = None
    pieces: int = 0
    unweighed: int = 0
    emptied: bool = False
    solid_density: float = USUAL_SOLID_DENSITY

    @property
    def volume_ml(self) -> float | None:
        """Millilitres of slurry."""
        if self.dry_g is None or self.water_g is None or self.dry_g + self.water_g <= 0:
            return None
        return volume_of(self.dry_g, self.water_g, self.solid_density)


def mixed_state(
    mixed_on: date,
    dry_g: float | None,
    water_g: float | None,
    specific_gravity: float | None,
    solid_density: float = USUAL_SOLID_DENSITY,
) -> BucketState:
    """A bucket as it was mixed, as far as that was written down.

    A specific gravity that was written down goes before the one that dry glaze and water come to.
    """
    if specific_gravity is None and dry_g is not None and water_g is not None:
        specific_gravity = specific_gravity_of(dry_g, water_g, solid_density)
    state = BucketState(
        dry_g=dry_g,
        water_g=water_g,
        specific_gravity=specific_gravity,
        gravity_on=mixed_on if specific_gravity is not None else None,
        gravity_basis="mixed" if specific_gravity is not None else "",
        basis="mixed" if dry_g is not None else "",
        basis_on=mixed_on if dry_g is not None else None,
        solid_density=solid_density,
    )
    return _with_water_of_gravity(state)


def follow_bucket(
    mixed: BucketState,
    events: Sequence[BucketEvent],
    glazings: Sequence[tuple[date, float | None]] = (),
) -> BucketState:
    """The bucket after all that happened to it.

    ``events`` in the order they were written down; ``glazings`` are the day a piece was glazed and
    the dry grams it took, None where nobody knows.
    """
    state = mixed
    happened: list[tuple[date, int, BucketEvent | _Glazed]] = [
        (event.on, 0, event) for event in events
    ]
    # A kiln load is glazed on one day: pieces that took the same are taken off together.
    for (on, used_g), pieces in Counter(glazings).items():
        happened.append((on, 1, _Glazed(on, used_g, pieces)))
    for _, _, what in sorted(happened, key=lambda one: one[:2]):
        state = _apply(state, what) if isinstance(what, BucketEvent) else _take(state, what)
    return state


@dataclass(frozen=True, slots=True)
class _Glazed:
    """Pieces glazed on a day, and the dry grams each took."""

    on: date
    used_g: float | None
    pieces: int


def _apply(state: BucketState, event: BucketEvent) -> BucketState:
    if event.kind == "measured":
        return _measure(state, event)
    if event.kind == "water" and event.grams and state.water_g is not None:
        return _computed(replace(state, water_g=state.water_g + event.grams), event.on)
    if event.kind == "dry" and event.grams and state.dry_g is not None:
        return _computed(replace(state, dry_g=state.dry_g + event.grams), event.on)
    if event.kind in ("water", "dry") and event.grams:
        # So much into an amount nobody knows: what it came to is not known until it is measured.
        return replace(state, specific_gravity=None, gravity_on=None, gravity_basis="")
    return state


def _measure(state: BucketState, event: BucketEvent) -> BucketState:
    gravity = event.specific_gravity or state.specific_gravity
    if event.specific_gravity is not None:
        state = replace(
            state,
            specific_gravity=event.specific_gravity,
            gravity_on=event.on,
            gravity_basis="measured",
        )
    if event.volume_ml is None or gravity is None:
        return _with_water_of_gravity(state)
    try:
        dry_g = dry_mass_g(event.volume_ml, gravity, state.solid_density)
    except UserProblem:
        return state  # heavier than its own dry material: told where it is typed
    return replace(
        state,
        dry_g=dry_g,
        water_g=event.volume_ml * gravity - dry_g,
        basis="measured",
        basis_on=event.on,
        pieces=0,
        unweighed=0,
        emptied=False,
    )


def _with_water_of_gravity(state: BucketState) -> BucketState:
    if state.dry_g is None or state.specific_gravity is None:
        return state
    try:
        water_g = water_for(state.dry_g, state.specific_gravity, state.solid_density)
    except UserProblem:
        return state
    return replace(state, water_g=water_g)


def _computed(state: BucketState, on: date) -> BucketState:
    if not state.dry_g or state.water_g is None:
        return state
    gravity = specific_gravity_of(state.dry_g, state.water_g, state.solid_density)
    return replace(state, specific_gravity=gravity, gravity_on=on, gravity_basis="computed")


def _take(state: BucketState, glazed: _Glazed) -> BucketState:
    if state.basis_on is not None and glazed.on < state.basis_on:
        return state
    pieces = state.pieces + glazed.pieces
    if glazed.used_g is None:
        return replace(state, pieces=pieces, unweighed=state.unweighed + glazed.pieces)
    if state.dry_g is None:
        return replace(state, pieces=pieces)
    used_g = glazed.used_g * glazed.pieces
    left = max(0.0, state.dry_g - used_g)
    water_g = state.water_g
    if water_g is not None and state.dry_g > 0:
        water_g *= left / state.dry_g
    emptied = state.emptied or used_g > state.dry_g + 1e-9
    return replace(state, dry_g=left, water_g=water_g, pieces=pieces, emptied=emptied)
