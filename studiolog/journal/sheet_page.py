"""A sheet of the quick log as it is opened and filled in, and what follows from it. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from studiolog.craft.glaze.layering import stack_layers
from studiolog.craft.words import STAGES
from studiolog.journal.inspections import FaultDraft, SurfaceDraft
from studiolog.journal.layer_words import GlazeName, WordedLayer
from studiolog.journal.photos import PictureDraft, PictureLine
from studiolog.journal.sheet_choices import (
    ClayChoice,
    FiringChoice,
    FormChoice,
    GlazeChoice,
    RunChoice,
)
from studiolog.photos.moment import propose_moment

FIRST_FAULTS = ("crazing", "crawling", "pinhole", "running")
"""The faults a sheet asks about first."""

STAGE_RANK = {stage: rank for rank, stage in enumerate(STAGES)}
# Common practice: ware is glazed in the days before its firing, not weeks.
_GLAZED_BEFORE_FIRING = timedelta(days=4)


@dataclass(frozen=True, kw_only=True)
class SheetDraft:
    """All that a sheet shows and keeps. ``faults`` are those looked for; others were not.
    ``surfaces`` are the words said of the fired surface.

    ``placed_in`` is the firing the sheet showed when it was opened; another ``firing_id`` then
    stands in its place. ``pictures`` are only the new ones. Sizes and weight are those at
    ``size_stage``. ``inspection_id`` is the inspection of ``looked_on`` the sheet carries on.
    """

    piece_id: int | None = None
    version: int | None = None
    number: int | None = None
    run_id: int | None = None
    form_id: int | None = None
    clay_id: int | None = None
    height_mm: float | None = None
    across_mm: float | None = None
    mass_g: float | None = None
    size_stage: str | None = None
    layers: tuple[WordedLayer, ...] = ()
    firing_id: int | None = None
    level_id: int | None = None
    placed_in: int | None = None
    looked_on: date | None = None
    inspection_id: int | None = None
    faults: tuple[FaultDraft, ...] = ()
    surfaces: tuple[SurfaceDraft, ...] = ()
    pictures: tuple[PictureDraft, ...] = ()
    next_time: str = ""


@dataclass(frozen=True)
class EarlierLook:
    """What the newest earlier inspection said of a fault."""

    fault: str
    zone: str
    severity: int
    looked_on: date


@dataclass(frozen=True)
class Offer:
    """What was used last, to be taken with one key; nothing of it is kept until it is."""

    from_number: int | None = None
    clay_id: int | None = None
    form_id: int | None = None
    firing_id: int | None = None
    level_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class SheetPage:
    """A sheet as it is opened: the draft it starts from, and what can be chosen."""

    draft: SheetDraft
    piece_id: int | None
    number: int
    title: str
    stage: str | None
    stages: tuple[tuple[datetime, str], ...]
    wall_mm: float | None
    pictures: tuple[PictureLine, ...]
    earlier: tuple[EarlierLook, ...]
    fault_rows: tuple[tuple[str, str], ...]
    other_firings: tuple[int, ...]
    like_number: int | None
    offer: Offer
    clays: tuple[ClayChoice, ...]
    forms: tuple[FormChoice, ...]
    glazes: tuple[GlazeChoice, ...]
    firings: tuple[FiringChoice, ...]
    runs: tuple[RunChoice, ...]

    @property
    def is_new(self) -> bool:
        """Whether the piece is not in the journal yet."""
        return self.piece_id is None

    def glaze_names(self) -> tuple[GlazeName, ...]:
        """The glazes as the reader of layers wants them."""
        return tuple(GlazeName(glaze.glaze_id, glaze.title) for glaze in self.glazes)

    def firing(self, firing_id: int | None) -> FiringChoice | None:
        """A firing of the choices by its id."""
        return next((f for f in self.firings if f.firing_id == firing_id), None)


def sheet_like(draft: SheetDraft) -> SheetDraft:
    """The draft of another piece like this one: everything but its number and photos.

    What was found on it is not carried: the faults it was looked at for are listed by the sheet
    as *not looked*, since nobody has looked at the new piece yet.
    """
    return replace(
        draft,
        piece_id=None,
        version=None,
        number=None,
        placed_in=None,
        inspection_id=None,
        faults=(),
        surfaces=(),
        pictures=(),
    )


def propose_stage(draft: SheetDraft, page: SheetPage) -> str:
    """The stage the piece is in by what the sheet says; never one before that it has reached."""
    firing = page.firing(draft.firing_id)
    proposed = "wet"
    if firing is not None and firing.over_at is not None:
        proposed = "bisque" if firing.kind == "bisque" else "fired"
    elif draft.layers:
        proposed = "glazed"
    if page.stage is not None and STAGE_RANK[page.stage] >= STAGE_RANK[proposed]:
        return page.stage
    return proposed


def propose_picture_moment(taken_at: datetime | None, draft: SheetDraft, page: SheetPage) -> str:
    """What a photo shows, by the stage the piece was in when it was taken."""
    stages: list[tuple[datetime, str]] = list(page.stages)
    firing = page.firing(draft.firing_id)
    if firing is not None and firing.over_at is not None:
        fired = "bisque" if firing.kind == "bisque" else "fired"
        if fired not in [stage for _, stage in stages]:
            stages.append((firing.over_at, fired))
        if fired == "fired" and draft.layers and "glazed" not in [s for _, s in stages]:
            stages.append((firing.started_at - _GLAZED_BEFORE_FIRING, "glazed"))
    elif not stages and taken_at is None and draft.layers:
        return "glazed"
    return propose_moment(taken_at, stages)


def pairs_of(layers: Sequence[WordedLayer]) -> list[tuple[int, int | None]]:
    """Each glaze directly over another in a zone, else alone there; doubled glazes first."""
    zones = stack_layers((layer.zone, layer.glaze_id) for layer in layers)
    over = [
        pair
        for laid in zones.values()
        for pair in reversed(list(zip(laid[1:], laid[:-1], strict=True)))
    ]
    alone = [(laid[0], None) for laid in zones.values() if len(laid) == 1]
    return list(dict.fromkeys([*over, *alone]))
