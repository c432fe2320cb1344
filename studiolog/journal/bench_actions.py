"""What a line typed at the bench can say was done, and what reading it needs to know of a run."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from studiolog.craft.words import COVERS, DRYING_WEATHERS, STAGES

if TYPE_CHECKING:
    # A window stands before it is needed.
    from studiolog.journal.layer_words import WordedLayer
    from studiolog.journal.waiting_for import FormWork


@dataclass(frozen=True)
class StepDone:
    """Work done to so many pieces at a stage.

    ``minutes`` are those of one piece, ``zone`` the part it was done to, "" the whole; ``rework``
    is work done over again. ``then_glazed`` of them have glaze on every zone after it, and go on.
    ``layers`` are those laid on the zone, in the order they went on, ``laid`` the same in words.
    """

    name: str
    stage: str
    how_many: int
    minutes: float | None = None
    zone: str = ""
    rework: bool = False
    then_glazed: int = 0
    layers: "tuple[WordedLayer, ...]" = ()
    laid: str = ""

    @property
    def words(self) -> str:
        zone = f"{self.zone} " if self.zone else ""
        again = " again" if self.rework and self.name != "mended" else ""
        each = "" if self.minutes is None else f" {self.minutes:.3g} min each"
        laid = f" {self.laid}" if self.laid else ""
        return f"{self.how_many} {zone}{self.name}{again}{laid}{each}"


@dataclass(frozen=True)
class Move:
    """So many pieces from one stage to another."""

    from_stage: str
    to_stage: str
    how_many: int

    @property
    def words(self) -> str:
        return f"{self.how_many} {STAGES[self.from_stage]} to {STAGES[self.to_stage]}"


@dataclass(frozen=True)
class Loss:
    """So many pieces lost at a stage, and why; ``other`` than those the line named before."""

    stage: str
    how_many: int
    why: str
    other: bool = False

    @property
    def words(self) -> str:
        some = f"{self.how_many} more lost" if self.other else f"{self.how_many} lost"
        return f"{some}, {self.why}" if self.why else some


@dataclass(frozen=True)
class Wrap:
    """The run as a whole stands covered, or uncovered, from now on; ``weather`` "" not said."""

    cover: str
    weather: str = ""

    @property
    def words(self) -> str:
        air = f", weather {DRYING_WEATHERS[self.weather]}" if self.weather else ""
        return f"all {COVERS[self.cover]}{air}"


Action = StepDone | Move | Loss | Wrap


@dataclass(frozen=True)
class WorkLot:
    """Counted pieces alike: at one stage, with the same steps done and the same zones glazed."""

    stage: str
    done: frozenset[str]
    glazed: frozenset[str]
    pieces: int


@dataclass(frozen=True)
class RunWords:
    """What reading a line needs of a run: ``counted`` are its unnumbered pieces by stage.

    ``lots`` tell the same with what was done to them, ``work`` how the form is made; without,
    nothing is known of that.
    """

    run_id: int
    number: int
    counted: Mapping[str, int]
    lots: tuple[WorkLot, ...] = ()
    work: "FormWork | None" = None


@dataclass(frozen=True)
class Unread:
    """Words that meant nothing: where they stand in the line."""

    start: int
    end: int
    words: str


@dataclass(frozen=True)
class Reading:
    """What a line was read as. ``days_back`` is 1 for yesterday.

    ``leaves`` says how many pieces are left where the line took some, and how many without the
    work it speaks of.
    """

    text: str
    run_id: int | None = None
    run_number: int | None = None
    actions: tuple[Action, ...] = ()
    unread: tuple[Unread, ...] = ()
    problems: tuple[str, ...] = ()
    days_back: int = 0
    leaves: tuple[str, ...] = ()

    @property
    def ready(self) -> bool:
        """Whether all of it was understood and can be done."""
        return bool(self.run_id and self.actions and not self.unread and not self.problems)

    @property
    def label(self) -> str:
        """What the history calls the edit."""
        return f"Run {self.run_number}: {', '.join(action.words for action in self.actions)}"
