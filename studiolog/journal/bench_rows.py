"""A run as a row of the bench: plain values, to be shown before a database is loaded."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from studiolog.craft.words import STAGES
from studiolog.journal.profiles import Profile

DONE = ("finished", "lost")


@dataclass(frozen=True)
class FormLook:
    """What is needed to draw a form; sizes fired, in mm."""

    name: str
    shape: str
    profile: Profile | None
    height_mm: float | None
    across_mm: float | None


@dataclass(frozen=True)
class ServedOrder:
    """The order a run is made for."""

    order_id: int
    line_id: int
    number: int
    whom: str
    promised_on: date | None
    state: str


@dataclass(frozen=True)
class PackedIn:
    """So many pieces stand in a firing they have not come out of."""

    firing_id: int
    number: int
    stage: str
    pieces: int


@dataclass(frozen=True)
class LostLot:
    """So many pieces lost at one stage for one cause; ``stage`` None where nobody knows it."""

    stage: str | None
    why: str
    pieces: int


def in_order_of_loss(losses: Iterable[LostLot]) -> tuple[LostLot, ...]:
    """Losses as they are told: by stage from wet on, the most first."""
    places = {stage: place for place, stage in enumerate(STAGES)}
    return tuple(
        sorted(
            losses, key=lambda lot: (places.get(lot.stage or "", len(places)), -lot.pieces, lot.why)
        )
    )


@dataclass(frozen=True)
class BenchRow:
    """A run on the bench.

    ``counts`` are all its pieces by stage, ``counted`` those without a number of their own.
    ``since`` is when the first of those at ``youngest`` reached it.
    """

    run_id: int
    version: int
    number: int
    title: str
    form: FormLook | None
    clay: str
    purpose: str
    made_on: date
    order: ServedOrder | None
    counts: Mapping[str, int]
    counted: Mapping[str, int]
    losses: tuple[LostLot, ...]
    youngest: str | None
    since: datetime | None
    packed: tuple[PackedIn, ...]

    @property
    def name(self) -> str:
        """What the run is called: its own title, else its form's name."""
        return self.title or (self.form.name if self.form else "") or f"Run {self.number}"

    @property
    def lost(self) -> tuple[tuple[str, int], ...]:
        """How many were lost for which cause, at whatever stage, the most first."""
        by_cause: dict[str, int] = {}
        for lot in self.losses:
            by_cause[lot.why] = by_cause.get(lot.why, 0) + lot.pieces
        return tuple(sorted(by_cause.items(), key=lambda cause: (-cause[1], cause[0])))

    @property
    def made(self) -> int:
        return sum(self.counts.values())

    @property
    def in_hand(self) -> int:
        """Pieces neither finished nor lost."""
        return sum(pieces for stage, pieces in self.counts.items() if stage not in DONE)

    @property
    def good(self) -> int:
        """Pieces not lost so far."""
        return self.made - self.counts.get("lost", 0)
