"""The lines a piece's page is made of: frozen values, one class a kind of line."""

from dataclasses import dataclass
from datetime import date, datetime

from studiolog.journal.profiles import Profile


@dataclass(frozen=True)
class FormFacts:
    """The form of a piece: its name, shape and fired size."""

    form_id: int
    name: str
    shape: str
    fired_height_mm: float | None
    fired_across_mm: float | None
    profile: Profile | None


@dataclass(frozen=True)
class ClayFacts:
    """The clay of a piece. ``usual_shrinkage`` is the fraction stated, else the studio's median."""

    clay_id: int
    name: str
    colour: str
    specks: str
    usual_shrinkage: float | None
    usual_basis: str
    """"stated", or "12 pieces" measured; empty if unknown."""


@dataclass(frozen=True)
class RunPlace:
    """The run of a piece, and which of how many it is."""

    run_id: int
    number: int
    title: str
    place: int
    pieces: int


@dataclass(frozen=True)
class PieceLink:
    """Another piece: what a mark needs, and a picture if there is one."""

    piece_id: int
    number: int | None
    name: str
    sha256: str | None = None
    suffix: str = ""
    said: str = ""


@dataclass(frozen=True)
class RunLink:
    """A run that carries on what this piece taught."""

    run_id: int
    number: int
    name: str
    pieces: int
    version: int
    source_id: int


@dataclass(frozen=True)
class LayerLine:
    """One layer with the look of its glaze."""

    layer_id: int
    version: int
    zone: str
    position: int
    glaze_id: int
    glaze_name: str
    colour: str
    pattern: int
    method: str | None
    coats: int | None
    seconds: float | None
    bucket_id: int | None
    bucket_mixed_on: date | None
    thickness_mm: float | None
    note: str


@dataclass(frozen=True)
class StageLine:
    """The piece reached a stage."""

    change_id: int
    version: int
    stage: str
    at: datetime
    note: str


@dataclass(frozen=True)
class StepLine:
    """Work done to the piece."""

    step_id: int
    version: int
    name: str
    done_on: date
    minutes: float | None
    note: str


@dataclass(frozen=True)
class SizeLine:
    """Size and weight at one stage; ``version`` None where nothing was measured yet."""

    stage: str
    height_mm: float | None = None
    across_mm: float | None = None
    wall_mm: float | None = None
    mass_g: float | None = None
    version: int | None = None
    mark_mm: float | None = None


@dataclass(frozen=True)
class FaultLine:
    """One fault looked for in one inspection."""

    fault: str
    severity: int
    zone: str
    note: str


@dataclass(frozen=True)
class SurfaceLine:
    """One word said of a surface in one inspection; no zone speaks of the whole piece."""

    word: str
    zone: str


@dataclass(frozen=True)
class InspectionLine:
    """Somebody looked on a day; a fault that is not in ``faults`` was not looked for.

    ``reading_versions`` are those of the fault readings, then of the surface words.
    """

    inspection_id: int
    version: int
    looked_on: date
    stress_tested: bool
    note: str
    faults: tuple[FaultLine, ...]
    reading_versions: tuple[int, ...]
    days_after_firing: int | None
    surfaces: tuple[SurfaceLine, ...] = ()


@dataclass(frozen=True)
class FaultRow:
    """One fault over time. ``severities`` has one entry an inspection: None is not looked."""

    fault: str
    where: str
    severities: tuple[int | None, ...]
    """0 none seen … 3 severe, the worst over the zones."""
